//! The raster of a printing device: marks whose edges lie on a fine square grid.
//!
//! Image-setters, laser printers and inkjet printers build every mark of picture elements. However
//! the tone is screened, each edge then falls on one grid of 600–2540 elements per inch. The tone
//! itself hides the grid; the places of the edges give it away: the spectrum of edge strength has a
//! pair of peaks at one distance and at right angles. Nothing drawn by hand has one; only two machine
//! rulings of one pitch crossed at right angles come near.

use super::pyramid::{DENSITY_CEILING, Level};
use super::spectrum::{self, Spectrum, WINDOW, place_of_peak};
use crate::ink::Inked;
use crate::measured::{Measured, NotMeasured};
use crate::photo::scale::MM_PER_INCH;
use crate::plane::Plane;
use ndarray::Array2;
use rayon::prelude::*;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// The clearest grid of edges.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Raster {
    /// How far the weaker of its two peaks stands over its surroundings, times; 1 = not at all.
    pub prominence: f64,
    /// Pitch of the grid, px; missing where none stands out.
    pub pitch_px: Measured,
    /// Angle of one of its directions, degrees counter-clockwise as seen, [0, 90); missing where
    /// none stands out.
    pub grid_angle_deg: Measured,
    /// Elements per inch; missing without a scale or where none stands out.
    pub elements_per_inch: Measured,
}

/// Lowest frequency looked at, bins: a period of about 25 px; larger elements would be seen as squares
/// one by one.
const LOWEST_BIN: i32 = (WINDOW / 24) as i32;
/// Half the transform: the highest frequency.
const HIGHEST_BIN: i32 = (WINDOW / 2) as i32;
/// Bins of the comb that JPEG blocks of 8 px leave; demosaicing and enlarging lie on it too.
const COMB_BINS: i32 = (WINDOW / 8) as i32;
/// A bin nearer than this to the comb is passed over: a peak's own width of two and the neighbour
/// that the search allows.
const COMB_WIDTH: i32 = 3;
/// Surroundings that a peak is held against: bins in a ring about it.
const SURROUNDINGS: std::ops::RangeInclusive<i32> = 4..=7;

/// Peaks that a grid is read from.
const PEAKS: usize = 2;
/// Prominence from which the grid is named in words. Of the 4800 training specimens in turn it is reached by
/// 533 of 960 reproductions and by 16 of 3840 prints made by hand.
const CLEAR: f64 = 40.0;
/// Elements per inch below which a grid is not named where the scale is known: the coarsest devices in
/// print work had 300 (first laser printers; from memory); crossed machine rulings are coarser.
const COARSEST_DEVICE_PER_INCH: f64 = 300.0;

impl Raster {
    /// Whether the grid is named: it stands out, and is not too coarse for a printing device.
    #[must_use]
    pub fn is_clear(&self) -> bool {
        self.pitch_px.value().is_some()
    }

    /// No grid, and why.
    fn none(prominence: f64, reason: &str) -> Self {
        let missing = || Measured::missing(reason);
        Self {
            prominence,
            pitch_px: missing(),
            grid_angle_deg: missing(),
            elements_per_inch: missing(),
        }
    }

    /// A photograph too small to look.
    fn not_looked_for() -> Self {
        Self::none(
            1.0,
            "the usable field is too small; photograph more of the sheet",
        )
    }
}

/// Looks for the grid on which edges lie.
#[must_use]
pub fn look(inked: &Inked, full: &Level) -> Raster {
    let edges = Level {
        step_px: 1,
        channels: vec![edge_strength(inked)],
        means: vec![0.0],
        usable: full.usable.clone(),
    };
    let Some(spectrum) = spectrum::survey(&edges) else {
        return Raster::not_looked_for();
    };
    let prominence = prominence(&spectrum);
    let best = (-HIGHEST_BIN..HIGHEST_BIN)
        .flat_map(|ky| (1..HIGHEST_BIN).map(move |kx| [ky, kx]))
        .filter(|&bin| may_hold_a_grid(bin))
        .map(|[ky, kx]| {
            let pair = at(&prominence, [ky, kx]).min(at(&prominence, [kx, -ky]));
            (pair, [ky, kx])
        })
        // The first of equals, so that the answer does not hang on the order of a search.
        .reduce(|a, b| if b.0 > a.0 { b } else { a });
    best.map_or_else(Raster::not_looked_for, |(pair, bin)| {
        described(inked, f64::from(pair), || place(&spectrum.power[0], bin))
    })
}

/// Where in the spectrum a grid lies.
struct Place {
    /// One of its two frequencies, cycles per px, y down; the other is at right angles to it.
    frequency: [f64; 2],
    /// Standard error of either component.
    se: f64,
}

/// Least standard error of where a peak lies between bins, bins. Forty drawn grids, flat ones, came out within 0.06 of
/// the truth, mostly within 0.03; a sheet that bends or is seen at a slant blurs its peaks.
const PEAK_SE_BINS: f64 = 0.05;

/// The place of a grid near the bin `[ky, kx]` by its two peaks, each of which may stand one bin beside.
fn place(power: &Plane, [ky, kx]: [i32; 2]) -> Place {
    let power_at = |ky: i64, kx: i64| at(power, [ky as i32, kx as i32]);
    let peak = |[ky, kx]: [i32; 2]| {
        let near = (-1..=1).flat_map(|j| (-1..=1).map(move |i| [ky + j, kx + i]));
        let [ky, kx] = near.fold([ky, kx], |best, bin| {
            if at(power, bin) > at(power, best) {
                bin
            } else {
                best
            }
        });
        place_of_peak(&power_at, i64::from(ky), i64::from(kx))
    };
    let one = peak([ky, kx]);
    let [x, y] = peak([kx, -ky]);
    let turned_back = [y, -x];
    let apart = (one[0] - turned_back[0]).hypot(one[1] - turned_back[1]);
    Place {
        frequency: [0, 1].map(|axis| 0.5 * (one[axis] + turned_back[axis]) / WINDOW as f64),
        se: PEAK_SE_BINS.hypot(0.5 * apart) / WINDOW as f64,
    }
}

fn described(inked: &Inked, prominence: f64, place: impl FnOnce() -> Place) -> Raster {
    if prominence < CLEAR {
        return Raster::none(
            prominence,
            "the edges of the marks lie on no grid that stands out",
        );
    }
    let Place {
        frequency: [fx, fy],
        se,
    } = place();
    let frequency = fx.hypot(fy);
    let angle = (-fy).atan2(fx).to_degrees().rem_euclid(90.0);
    let scale = inked.scale.as_ref();
    let per_inch = scale.map(|s| (s.value * MM_PER_INCH, s.ln_half()));
    if per_inch.is_some_and(|(k, _)| frequency * k < COARSEST_DEVICE_PER_INCH) {
        return Raster::none(
            prominence,
            "the grid that stands out is too coarse for a printing device",
        );
    }
    Raster {
        prominence,
        pitch_px: Measured::with_standard_error(
            1.0 / frequency,
            se / frequency.powi(2),
            "px",
            PEAKS,
        ),
        grid_angle_deg: Measured::with_standard_error(
            angle,
            (se / frequency).to_degrees(),
            "°",
            PEAKS,
        ),
        elements_per_inch: per_inch.map_or_else(
            || NotMeasured::no_scale().into(),
            |(k, of_scale)| {
                Measured::with_standard_error(frequency * k, se * k, "per inch", PEAKS)
                    .widened(of_scale)
            },
        ),
    }
}

fn may_hold_a_grid([ky, kx]: [i32; 2]) -> bool {
    let near_comb = |k: i32| {
        let off = k.rem_euclid(COMB_BINS);
        off.min(COMB_BINS - off) <= COMB_WIDTH
    };
    let distance = f64::from(ky).hypot(f64::from(kx));
    distance >= f64::from(LOWEST_BIN)
        && distance < f64::from(HIGHEST_BIN)
        && !(near_comb(ky) && near_comb(kx))
}

/// Sum over the channels of the gradient's length, density per px.
fn edge_strength(inked: &Inked) -> Plane {
    let planes: Vec<&Plane> = if inked.grey {
        vec![&inked.grey_density]
    } else {
        inked.density.iter().collect()
    };
    let (height, width) = inked.usable.dim();
    let cut = |d: f32| d.clamp(-0.3, DENSITY_CEILING);
    let mut edges = Plane::zeros((height, width));
    edges
        .outer_iter_mut()
        .into_par_iter()
        .enumerate()
        .for_each(|(y, mut row)| {
            let (above, below) = (y.saturating_sub(1), (y + 1).min(height - 1));
            for plane in &planes {
                let rows = [above, y, below].map(|y| plane.row(y));
                let [Some(above), Some(here), Some(below)] =
                    rows.each_ref().map(|row| row.as_slice())
                else {
                    continue;
                };
                let strength = |left: f32, right: f32, above: f32, below: f32| {
                    let (dx, dy) = (cut(right) - cut(left), cut(below) - cut(above));
                    (dx * dx + dy * dy).sqrt()
                };
                let last = width - 1;
                row[0] += strength(here[0], here[last.min(1)], above[0], below[0]);
                if last > 0 {
                    row[last] += strength(here[last - 1], here[last], above[last], below[last]);
                }
                // All between, without a bound to check at each.
                let edges = row.iter_mut().zip(above).zip(below).skip(1);
                for (((edge, above), below), three) in edges.zip(here.windows(3)) {
                    *edge += strength(three[0], three[2], *above, *below);
                }
            }
        });
    edges
}

/// Each bin's strongest neighbour over the mean of its surroundings, `[[ky, kx]]` in transform order.
fn prominence(spectrum: &Spectrum) -> Plane {
    let around = Surroundings::of(&spectrum.power[0]);
    let values: Vec<f32> = (0..WINDOW * WINDOW)
        .into_par_iter()
        .map(|i| {
            let bin = [i / WINDOW, i % WINDOW];
            around.peak(bin) / around.mean(bin).max(f32::MIN_POSITIVE)
        })
        .collect();
    Array2::from_shape_vec((WINDOW, WINDOW), values)
        .unwrap_or_else(|_| Plane::zeros((WINDOW, WINDOW)))
}

/// A spectrum continued beyond its ends, with sums along its rows.
struct Surroundings {
    power: Plane,
    /// Sum of a row up to each bin.
    sums: Array2<f64>,
    /// The ring about a bin as runs in rows: row, first column and the one after the last, from the
    /// corner of the square that holds the ring.
    runs: Vec<(usize, usize, usize)>,
    /// Bins in the ring.
    bins: usize,
}

/// Bins by which the spectrum is continued.
const REACH: usize = *SURROUNDINGS.end() as usize;

impl Surroundings {
    fn of(power: &Plane) -> Self {
        let side = WINDOW + 2 * REACH;
        let inside = |k: usize| (k + WINDOW - REACH) % WINDOW;
        let power = Plane::from_shape_fn((side, side), |(y, x)| power[[inside(y), inside(x)]]);
        let mut sums = Array2::zeros((side, side + 1));
        for (y, row) in power.outer_iter().enumerate() {
            let mut sum = 0.0;
            for (x, value) in row.iter().enumerate() {
                sum += f64::from(*value);
                sums[[y, x + 1]] = sum;
            }
        }
        let square = 2 * REACH + 1;
        let in_ring = |y: usize, x: usize| {
            let off = |k: usize| k as f64 - REACH as f64;
            SURROUNDINGS.contains(&(off(y).hypot(off(x)).round() as i32))
        };
        let mut runs = Vec::new();
        for y in 0..square {
            let mut x = 0;
            while x < square {
                let end = (x..square).find(|&x| !in_ring(y, x)).unwrap_or(square);
                if end > x {
                    runs.push((y, x, end));
                }
                x = end + 1;
            }
        }
        Self {
            power,
            sums,
            bins: runs.iter().map(|(_, start, end)| end - start).sum(),
            runs,
        }
    }

    fn mean(&self, [ky, kx]: [usize; 2]) -> f32 {
        let along = |&(y, start, end): &(usize, usize, usize)| {
            self.sums[[ky + y, kx + end]] - self.sums[[ky + y, kx + start]]
        };
        (self.runs.iter().map(along).sum::<f64>() / self.bins as f64) as f32
    }

    /// The largest of a bin and its eight neighbours.
    fn peak(&self, [ky, kx]: [usize; 2]) -> f32 {
        let (y, x) = (ky + REACH - 1, kx + REACH - 1);
        let near = self.power.slice(ndarray::s![y..y + 3, x..x + 3]);
        near.iter().fold(0.0, |most, value| value.max(most))
    }
}

fn at(plane: &Plane, [ky, kx]: [i32; 2]) -> f32 {
    let wrap = |k: i32| k.rem_euclid(WINDOW as i32) as usize;
    plane[[wrap(ky), wrap(kx)]]
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measure::lattice::pyramid;
    use crate::measure::segment::tests::inked_from;
    use rand::{RngExt, SeedableRng};
    use rand_chacha::ChaCha8Rng;

    const SIZE: (usize, usize) = (420, 560);

    /// Elements of `pitch` px, `turn` degrees, inked at random; camera noise on top.
    fn elements(pitch: f64, turn: f64) -> Raster {
        let mut rng = ChaCha8Rng::seed_from_u64(3);
        let inked: Vec<bool> = (0..512 * 512).map(|_| rng.random_bool(0.4)).collect();
        let (c, s) = (turn.to_radians().cos(), turn.to_radians().sin());
        looked_at(|y, x| {
            let (u, v) = ((c * x - s * y) / pitch, (s * x + c * y) / pitch);
            let cell = |t: f64| (t.floor() as i64).rem_euclid(512) as usize;
            inked[cell(v) * 512 + cell(u)]
        })
    }

    /// Four samples a pixel each way, as optics blur them.
    fn looked_at(ink: impl Fn(f64, f64) -> bool) -> Raster {
        let mut rng = ChaCha8Rng::seed_from_u64(4);
        let density = Plane::from_shape_fn(SIZE, |(y, x)| {
            let hits = (0..16)
                .filter(|i| {
                    ink(
                        y as f64 + f64::from(i / 4) / 4.0,
                        x as f64 + f64::from(i % 4) / 4.0,
                    )
                })
                .count();
            hits as f32 / 16.0 + rng.random_range(-0.02..0.02)
        });
        let reflectance = density.mapv(|d| 10f32.powf(-d));
        let inked = inked_from(std::array::from_fn(|_| reflectance.clone()), None);
        look(&inked, &pyramid::build(&inked)[0])
    }

    #[test]
    fn intervals_hold_the_pitch_and_angle_of_the_grid() {
        for i in 0..8 {
            let (pitch, turn) = (3.4 + 0.51 * f64::from(i), 9.3 * f64::from(i));
            let raster = elements(pitch, turn);
            let [found, angle] =
                [&raster.pitch_px, &raster.grid_angle_deg].map(|m| m.figure().expect("clear"));
            // The edges may repeat twice or three times an element.
            let truth = pitch / (pitch / found.value).round();
            assert!(found.lo <= truth && truth <= found.hi, "{truth}: {found:?}");
            let off = (angle.value - turn + 45.0).rem_euclid(90.0) - 45.0;
            assert!(off.abs() <= angle.hi - angle.value, "{turn}: {angle:?}");
            assert!(found.hi / found.lo < 1.01, "{found:?}");
        }
    }

    #[test]
    fn elements_are_found_with_their_pitch_and_angle() {
        for (pitch, turn) in [(3.7, 11.0), (5.3, 64.0), (7.1, 33.0)] {
            let raster = elements(pitch, turn);
            assert!(raster.is_clear(), "{pitch} px: {raster:?}");
            // The edges may repeat twice an element where every second is inked.
            let times = pitch / raster.pitch_px.value().expect("a clear grid has a pitch");
            assert!((times - times.round()).abs() < 0.05 * times, "{raster:?}");
            if times.round() == 1.0 {
                let angle = raster.grid_angle_deg.value().expect("and an angle");
                let off = (angle - turn + 45.0).rem_euclid(90.0) - 45.0;
                assert!(off.abs() < 1.5, "{raster:?}");
            }
        }
    }

    #[test]
    fn dots_strewn_by_hand_have_no_grid() {
        let mut rng = ChaCha8Rng::seed_from_u64(5);
        let dots: Vec<[f64; 3]> = (0..250)
            .map(|_| {
                [
                    rng.random_range(0.0..420.0),
                    rng.random_range(0.0..560.0),
                    rng.random_range(1.5..5.0),
                ]
            })
            .collect();
        let raster = looked_at(|y, x| dots.iter().any(|[a, b, r]| (y - a).hypot(x - b) < *r));
        assert!(raster.prominence < 0.25 * CLEAR, "{raster:?}");
    }
}
