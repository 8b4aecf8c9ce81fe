//! Waves that are not on the photograph: too fine for a coarser level, they come out there as coarse ones.
//!
//! Means over 2 × 2 samples leave a fifth to a third of a wave of 2.1 to 2.6 samples, folded about what the coarser level
//! can hold: a screen of 10 px then shows another of 40 px, as much in step as itself.

use super::demodulate::Patchwork;
use super::phase::Frame;
use super::pyramid::Level;
use super::track::Track;

/// Patches that are looked at again: what stands on the photograph does so wherever it was read.
const SITES: usize = 16;
/// Least share of its amplitude that a wave must have at full size. One that is there has all of it and a little
/// more, as means over pixels take up to a fifth; of a folded one nothing is left.
const LEAST_SHARE: f64 = 0.5;

/// Whether a wave that was read on a coarser level is there at full size, too.
#[must_use]
pub fn is_on_the_photograph(levels: &[Level], frame: &Frame, track: &Track) -> bool {
    let Some(coarse) = Patchwork::lay(levels, 1.0 / track.magnitude(), SITES) else {
        return true;
    };
    let Some(full) = coarse.at_full_size(levels) else {
        return true;
    };
    let mut power = 0.0;
    let mut shared = 0.0;
    let read = |patches: &Patchwork| patches.amplitudes(frame, &track.phase);
    for (coarse, full) in read(&coarse).iter().zip(&read(&full)) {
        for (c, f) in coarse.iter().zip(full) {
            power += c.norm_sqr();
            shared += (f * c.conj()).re;
        }
    }
    shared >= LEAST_SHARE * power
}

#[cfg(test)]
mod tests {
    use crate::measure::lattice::by_waves;
    use crate::measure::segment::tests::inked_from;
    use crate::plane::Plane;

    /// Periods and angles of the screens found on black dots of a period in px, turned by some degrees, that cover a
    /// fifth; blurred over about a pixel, with some noise.
    fn screens(period: f64, turn: f64) -> Vec<(f64, f64)> {
        use rand::{RngExt, SeedableRng};
        const FINER: usize = 4;
        const SIDE: usize = 1000;
        let mut rng = rand_chacha::ChaCha8Rng::seed_from_u64(11);
        let (sin, cos) = turn.to_radians().sin_cos();
        let ink = |x: f64, y: f64| {
            let off = |t: f64| (t / period).rem_euclid(1.0) - 0.5;
            off(x * cos - y * sin).hypot(off(x * sin + y * cos))
                < (0.2f64 / std::f64::consts::PI).sqrt()
        };
        let reflectance = Plane::from_shape_fn((SIDE, SIDE), |(y, x)| {
            // Two pixels broad, as a lens blurs.
            let inked = (0..2 * FINER * 2 * FINER)
                .filter(|i| {
                    let finer = |i: usize| (i as f64 + 0.5) / FINER as f64;
                    ink(
                        x as f64 + finer(i % (2 * FINER)),
                        y as f64 + finer(i / (2 * FINER)),
                    )
                })
                .count();
            let cover = inked as f32 / (4 * FINER * FINER) as f32;
            1.0 - 0.9 * cover + rng.random_range(-0.01..0.01)
        });
        let inked = inked_from(
            [reflectance.clone(), reflectance.clone(), reflectance],
            None,
        );
        let inks = by_waves(&inked).lattice.inks;
        let told = |ink: &crate::measure::lattice::InkScreen| {
            Some((ink.period_px.value()?, ink.angle_deg.value()?))
        };
        inks.iter().filter_map(told).collect()
    }

    #[test]
    fn a_screen_shows_no_second_one_by_the_halving_of_resolution() {
        for (period, turn) in [(10.0, 3.0), (9.6, 10.0), (5.0, 5.0), (10.7, 45.0)] {
            let found = screens(period, turn);
            assert_eq!(found.len(), 1, "{period} px at {turn}°: {found:?}");
            approx::assert_relative_eq!(found[0].0, period, max_relative = 0.002);
        }
    }
}
