//! A screen told by where its dots stand.
//!
//! Where a reproduction is photographed so closely that a hundred dots fill the frame, the mean
//! spectra have too few periods to stand on, and dots of many sizes and gaps of bare paper drown
//! the wave. Their places do not: with every dot counted alike, all that stand on a lattice turn
//! one frequency the same way. The structure factor |Σ exp(2πi f·x)|²/n is about 1 for dots set
//! by hand and n for a lattice.

mod field;

use crate::measure::marks::parting;
use crate::measure::points::Point;
use crate::measure::segment::Segments;
use field::Field;

/// Fewest dots that are asked; fewer cannot show a lattice beyond chance.
const MIN_DOTS: usize = 40;
/// Least share of the dots in step, in either direction.
const MIN_IN_STEP: f64 = 0.45;
/// A pair that is this strong beside the strongest and coarser is the screen itself, the other
/// its diagonals.
const COARSER_SHARE: f64 = 0.6;

/// A screen of dots.
#[derive(Clone, Debug)]
pub struct DotGrid {
    /// Its two vectors, cycles per px, y down; at a right angle, about.
    pub vectors: [[f64; 2]; 2],
    /// Standard error of each component, cycles per px.
    pub frequency_se: f64,
    /// Share of the dots in step (length of the mean phasor), the lesser of both directions.
    pub in_step: f64,
    /// log10 of the probability that dots without a lattice would be as much in step.
    pub alarm_log10: f64,
    /// Dots asked.
    pub dots: usize,
    /// Amplitude of the wave in density.
    pub amplitude: f64,
}

/// Looks for one.
#[must_use]
pub fn find(segments: &Segments) -> Option<DotGrid> {
    let places = parting::places(segments);
    let lattice = of_places(&places)?;
    let inks = Inks::of(segments);
    Some(DotGrid {
        vectors: lattice.vectors,
        frequency_se: lattice.frequency_se,
        in_step: lattice.in_step,
        alarm_log10: lattice.alarm_log10,
        dots: places.len(),
        // Small dots of cover a swing by 2·a·D about their mean.
        amplitude: 2.0 * inks.cover * lattice.in_step * inks.density.iter().sum::<f64>() / 3.0,
    })
}

/// A square lattice of places.
#[derive(Clone, Copy, Debug)]
struct PlaceLattice {
    vectors: [[f64; 2]; 2],
    frequency_se: f64,
    in_step: f64,
    alarm_log10: f64,
}

/// The square lattice on which most of the places stand, if there is one.
fn of_places(places: &[Point]) -> Option<PlaceLattice> {
    if places.len() < MIN_DOTS {
        return None;
    }
    let field = Field::of(places)?;
    let pairs = field.pairs();
    let best = pairs.iter().map(|p| p.power).fold(0.0, f64::max);
    let pair = pairs
        .iter()
        .filter(|p| p.power >= COARSER_SHARE * best)
        .min_by(|a, b| length(a.vectors[0]).total_cmp(&length(b.vectors[0])))?;
    let vectors = pair.vectors.map(|f| field.summit(f));
    let in_step = vectors
        .iter()
        .map(|&f| (field.power(f) / places.len() as f64).sqrt())
        .fold(1.0, f64::min);
    (in_step >= MIN_IN_STEP).then(|| PlaceLattice {
        vectors,
        frequency_se: field.standard_error(in_step),
        in_step,
        alarm_log10: field.alarm_log10(pair.power),
    })
}

fn length(f: [f64; 2]) -> f64 {
    f[0].hypot(f[1])
}

/// What the marks hold together.
struct Inks {
    density: [f64; 3],
    cover: f64,
}

impl Inks {
    fn of(segments: &Segments) -> Self {
        let area: f64 = segments.marks.iter().map(|m| m.area_px).sum();
        let density = std::array::from_fn(|c| {
            let sum: f64 = segments
                .marks
                .iter()
                .map(|m| m.area_px * m.density[c])
                .sum();
            sum / area.max(1.0)
        });
        Self {
            density,
            cover: (area / (segments.usable_px.max(1) as f64)).min(1.0),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::super::MAX_ALARM_LOG10;
    use super::*;
    use rand::{RngExt, SeedableRng};
    use rand_chacha::ChaCha8Rng;

    /// About half the places of a square lattice of 60 px at 22°, each off by up to `jitter` px.
    fn half_a_lattice(jitter: f64, seed: u64) -> Vec<Point> {
        let mut rng = ChaCha8Rng::seed_from_u64(seed);
        let (sin, cos) = 22f64.to_radians().sin_cos();
        let mut places = Vec::new();
        for i in -20..20 {
            for j in -20..20 {
                let (u, v) = (60.0 * f64::from(i), 60.0 * f64::from(j));
                let mut off = || rng.random_range(-1.0..1.0) * jitter;
                let at = [
                    500.0 + u * cos - v * sin + off(),
                    400.0 + u * sin + v * cos + off(),
                ];
                let inside = (0.0..1000.0).contains(&at[0]) && (0.0..800.0).contains(&at[1]);
                if inside && rng.random_bool(0.5) {
                    places.push(at);
                }
            }
        }
        places
    }

    #[test]
    fn half_of_a_lattice_still_shows_its_period_and_angle() {
        for (jitter, seed) in [(0.0, 1), (5.0, 2), (10.0, 3)] {
            let places = half_a_lattice(jitter, seed);
            let found = of_places(&places).expect("a lattice");
            assert!(found.alarm_log10 <= MAX_ALARM_LOG10, "{found:?}");
            for vector in found.vectors {
                assert!((length(vector) * 60.0 - 1.0).abs() < 0.01, "{found:?}");
                let turn = vector[1].atan2(vector[0]).to_degrees().rem_euclid(90.0);
                assert!((turn - 22.0).abs() < 0.6, "{found:?}");
            }
        }
    }

    /// Darts that keep a distance from one another, as a stippling hand sets dots.
    fn kept_apart(distance: f64, seed: u64) -> Vec<Point> {
        let mut rng = ChaCha8Rng::seed_from_u64(seed);
        let mut places: Vec<Point> = Vec::new();
        for _ in 0..4000 {
            let at = [rng.random_range(0.0..1000.0), rng.random_range(0.0..800.0)];
            let free = |p: &Point| (p[0] - at[0]).hypot(p[1] - at[1]) >= distance;
            if places.iter().all(free) {
                places.push(at);
            }
        }
        places
    }

    /// Dots in rows, evenly spaced in each, the rows at random distances and phases.
    fn rows(seed: u64) -> Vec<Point> {
        let mut rng = ChaCha8Rng::seed_from_u64(seed);
        let mut places = Vec::new();
        let mut y = 0.0;
        while y < 800.0 {
            let start: f64 = rng.random_range(0.0..50.0);
            places.extend((0..19).map(|i| [start + 50.0 * f64::from(i), y]));
            y += rng.random_range(35.0..75.0);
        }
        places
    }

    #[test]
    fn dots_set_by_hand_show_no_lattice() {
        let sheets = (0..12)
            .map(|k| kept_apart(30.0 + 4.0 * k as f64, k))
            .chain((20..28).map(rows));
        for (sheet, places) in sheets.enumerate() {
            assert!(places.len() >= MIN_DOTS);
            let alarm = of_places(&places).map_or(0.0, |l| l.alarm_log10);
            assert!(
                alarm > MAX_ALARM_LOG10,
                "sheet {sheet}: a lattice at 10^{alarm:.1}"
            );
        }
    }
}
