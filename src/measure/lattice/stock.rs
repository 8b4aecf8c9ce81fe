//! Lattices of the sheet itself: laid lines, and the mesh of a wove mould.
//!
//! A screen is made of ink: where the tone is lighter it swings less, and bare paper has none of it.
//! What a mould has pressed into the sheet swings the bare paper as far as it swings the tones.

use super::pyramid::Level;
use super::track::Track;
use rustfft::num_complex::Complex64;

/// Mean density over the local paper below which a patch counts as bare.
const BARE_DENSITY: f64 = 0.03;
/// Fewest bare patches.
const MIN_BARE: usize = 5;
/// Least amplitude in bare paper over that in the tones. Of 42 hand-made training specimens with a false
/// screen 13 have one so faint with bare paper in view, and all reach it (12 of them 0.8); of 48
/// reproductions with faint screens three lose all that was found, and none of those has a true screen.
const BARE_SHARE: f64 = 0.7;
/// Largest amplitude of a mesh, density over all channels: seen through a loupe, a mould swings the light by
/// one or two parts in a hundred.
const FAINT: f64 = 0.01;
/// Half the side of the square in which the tone about a patch is taken, periods.
const REACH_PERIODS: f64 = 2.5;

/// Whether all waves of a lattice lie in the sheet and not in ink. Dots are only where they are faint; lines however
/// deep, for the wires of a laid mould run one way and may shade a sheet in raking light as strongly as pale ink does.
#[must_use]
pub fn holds(levels: &[Level], waves: &[&Track]) -> bool {
    let lines = waves.len() == 1;
    waves.iter().all(|wave| {
        (lines || wave.strength() <= FAINT)
            && bare_share(levels, wave).is_some_and(|s| s >= BARE_SHARE)
    })
}

/// Amplitude in step in bare patches over that in the others; infinite where all are bare, `None` where
/// too few are.
fn bare_share(levels: &[Level], wave: &Track) -> Option<f64> {
    let reach_px = REACH_PERIODS / wave.magnitude();
    let (bare, toned): (Vec<_>, Vec<_>) = wave
        .samples
        .iter()
        .map(|sample| {
            let in_colour = sample.amplitudes.iter().zip(wave.colour);
            let amplitude: Complex64 = in_colour.map(|(z, c)| z * c).sum();
            (amplitude, tone(levels, sample.at_px, reach_px))
        })
        .partition(|&(_, tone)| tone < BARE_DENSITY);
    let mean = |patches: &[(Complex64, f64)]| {
        patches.iter().map(|p| p.0).sum::<Complex64>().norm() / patches.len().max(1) as f64
    };
    (bare.len() >= MIN_BARE).then(|| mean(&bare) / mean(&toned))
}

/// Mean density about a place, over the usable samples of the coarsest level; infinite where none is.
fn tone(levels: &[Level], at_px: [f64; 2], reach_px: f64) -> f64 {
    let Some(level) = levels.last() else {
        return f64::INFINITY;
    };
    let (height, width) = level.shape();
    let range = |centre: f64, length: usize| {
        let sample = |px: f64| (px / level.step_px as f64).clamp(0.0, length as f64 - 1.0) as usize;
        sample(centre - reach_px)..=sample(centre + reach_px)
    };
    let (mut sum, mut count) = (0.0, 0.0);
    for y in range(at_px[1], height) {
        for x in range(at_px[0], width).filter(|&x| level.usable[[y, x]]) {
            for (channel, mean) in level.channels.iter().zip(&level.means) {
                sum += f64::from(channel[[y, x]] + mean);
                count += 1.0;
            }
        }
    }
    if count > 0.0 {
        sum / count
    } else {
        f64::INFINITY
    }
}

#[cfg(test)]
mod tests {
    use crate::measure::lattice::{Lattice, ScreenKind, measure};
    use crate::measure::segment::{self, tests::inked_from};
    use crate::plane::Plane;
    use rand::{RngExt, SeedableRng};
    use rand_chacha::ChaCha8Rng;
    use std::f64::consts::TAU;

    const SIZE: (usize, usize) = (560, 760);
    /// px, and degrees.
    const PERIOD: f64 = 11.0;
    const TURN: f64 = 12.0;

    /// A sheet whose left half is toned; `swing` gives the density that a lattice adds, by the density
    /// of the tone and the lattice's own value (−2 to 2); of lines it is −1 to 1.
    fn sheet(lines: bool, swing: impl Fn(f64, f64) -> f64) -> Lattice {
        let mut rng = ChaCha8Rng::seed_from_u64(8);
        let (sin, cos) = TURN.to_radians().sin_cos();
        let reflectance = Plane::from_shape_fn(SIZE, |(y, x)| {
            let (x, y) = (x as f64, y as f64);
            let wave = |along: f64| (TAU * along / PERIOD).cos();
            let across = if lines { 0.0 } else { wave(sin * x + cos * y) };
            let lattice = wave(cos * x - sin * y) + across;
            let tone = if x < 380.0 { 0.25 } else { 0.0 };
            let noise = rng.random_range(-0.01..0.01);
            10f64.powf(-(tone + swing(tone, lattice) + noise)) as f32
        });
        let inked = inked_from(std::array::from_fn(|_| reflectance.clone()), Some(40.0));
        measure(&inked, &segment::find(&inked))
    }

    #[test]
    fn a_lattice_in_the_bare_paper_is_no_screen_and_as_faint_a_one_in_ink_is() {
        let mould = sheet(false, |_, lattice| 0.003 * lattice);
        assert_eq!(mould.kind, ScreenKind::None, "{mould:?}");
        let screen = sheet(false, |tone, lattice| 0.02 * tone * lattice);
        assert_eq!(screen.kind, ScreenKind::Clustered, "{screen:?}");
        let period = screen.inks[0].period_px.value().unwrap();
        assert!((period / PERIOD - 1.0).abs() < 0.002, "{period}");
    }
    #[test]
    fn the_lines_of_a_laid_mould_are_no_screen_however_deep_and_lines_of_ink_are() {
        let laid = sheet(true, |_, lattice| 0.02 * lattice);
        assert_eq!(laid.kind, ScreenKind::None, "{laid:?}");
        let screen = sheet(true, |tone, lattice| 0.3 * tone * lattice);
        assert_eq!(screen.kind, ScreenKind::Clustered, "{screen:?}");
    }
}
