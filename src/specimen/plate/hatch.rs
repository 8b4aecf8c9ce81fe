//! Systems of lines that follow the form: cut by the burin, bitten by acid, or ruled.

use crate::plane::{Plane, angle_deg};
use crate::specimen::drawing::Drawing;
use crate::specimen::drawing::stroke::Edge;
use crate::specimen::noise::{Noise, mix, step};
use crate::specimen::sheet::{HatchPlace, HatchTruth};
use ndarray::Zip;
use std::collections::BTreeMap;

/// One system of hatching: level lines of a coordinate of the form.
#[derive(Clone, Copy, Debug)]
pub struct Hatch {
    /// Distance between lines where the form's coordinate is true to scale, mm.
    pub pitch_mm: f32,
    /// Turn of this system against the lines that follow the form, radians.
    pub turn: f32,
    /// Tone from which this system is used.
    pub from_tone: f32,
    /// Share of the pitch that a line fills at `from_tone` and at black.
    pub fill: [f32; 2],
    /// Random offset of each line, share of the pitch (±).
    pub jitter: f32,
    /// Slow wandering of each line, share of the pitch (±).
    pub wander: f32,
    /// Mean length of a cut before the next begins, mm.
    pub cut_mm: f32,
    /// Length over which a line tapers at its ends, mm.
    pub taper_mm: f32,
    /// Roughness of the edges, mm (±).
    pub ragged_mm: f32,
    /// Length of dashes in the lights, mm; 0 = lines simply end.
    pub dash_mm: f32,
    /// Thinnest line that can be cut, mm.
    pub thinnest_mm: f32,
    /// The wandering itself.
    pub noise: Noise,
}

/// What one system does at one pixel.
struct Cut {
    inside_mm: f32,
    half_width_mm: f32,
    strength: f32,
}

/// The coordinate of a system at a pixel.
struct Lie {
    u: f32,
    v: f32,
    gradient: [f32; 2],
    steep: f32,
}

/// Tone range below `from_tone` in which lines become dashes.
const FADE_TONE: f32 = 0.12;
/// The coordinate may be compressed or stretched at most by this before lines are left out.
const STEEPEST: f32 = 3.0;
/// Truth is gathered from every n-th row and column: plenty for means over a region.
const TRUTH_STRIDE: usize = 3;
/// Side of the places that truth is kept of, of the longer side of the sheet.
const PLACES_ACROSS: usize = 32;
/// Systems with a smaller share of the ink are left out of the truth.
const LEAST_SHARE: f64 = 0.01;

impl Hatch {
    /// Lays this system on `cover` where `here` allows, keeping the greater of old and new.
    pub fn lay(
        &self,
        drawing: &Drawing,
        here: impl Fn([usize; 2]) -> bool + Sync,
        cover: &mut Plane,
        edge: Edge,
    ) {
        Zip::indexed(cover).par_for_each(|(y, x), a| {
            if !here([y, x]) {
                return;
            }
            if let Some(cut) = self.cut_at(drawing, [y, x]) {
                *a = a.max(cut.strength * edge.cover(cut.inside_mm));
            }
        });
    }

    fn lie_at(&self, drawing: &Drawing, pixel: [usize; 2]) -> Lie {
        let (a, b) = (drawing.across[pixel], drawing.along[pixel]);
        let (s, c) = self.turn.sin_cos();
        let ga = drawing.gradient(&drawing.across, pixel);
        let gb = drawing.gradient(&drawing.along, pixel);
        let gradient = [c * ga[0] + s * gb[0], c * ga[1] + s * gb[1]];
        Lie {
            u: c * a + s * b,
            v: c * b - s * a,
            gradient,
            steep: gradient[0].hypot(gradient[1]),
        }
    }

    /// The nearest line of this system, or nothing where none is cut.
    fn cut_at(&self, drawing: &Drawing, pixel: [usize; 2]) -> Option<Cut> {
        let tone = drawing.tone[pixel];
        if tone < self.from_tone - FADE_TONE || tone <= 0.0 {
            return None;
        }
        let lie = self.lie_at(drawing, pixel);
        if lie.steep < 1.0 / STEEPEST || lie.steep > STEEPEST {
            return None;
        }
        let k = (lie.u / self.pitch_mm).floor() as i32;
        let ahead = if lie.u / self.pitch_mm - k as f32 > 0.5 {
            1
        } else {
            -1
        };
        let near = self.line_at(drawing, pixel, &lie, k, tone);
        let next = self.line_at(drawing, pixel, &lie, k + ahead, tone);
        match (near, next) {
            (Some(a), Some(b)) => Some(if a.inside_mm >= b.inside_mm { a } else { b }),
            (a, b) => a.or(b),
        }
    }

    /// Line number `k` as it passes a pixel.
    fn line_at(
        &self,
        drawing: &Drawing,
        pixel: [usize; 2],
        lie: &Lie,
        k: i32,
        tone: f32,
    ) -> Option<Cut> {
        let own = self.noise.draw(k, 11);
        let wander = self.wander
            * self
                .noise
                .along(k, lie.v / (8.0 * self.pitch_mm) + own * 90.0);
        let offset = self.jitter * (2.0 * self.noise.draw(k, 23) - 1.0) + wander;
        let centre = (k as f32 + 0.5 + offset) * self.pitch_mm;
        let mut off_mm = (lie.u - centre).abs() / lie.steep;
        if self.ragged_mm > 0.0 {
            let fine = 0.7 / self.ragged_mm.max(0.008);
            let scale = fine / drawing.px_per_mm as f32;
            let rough = self
                .noise
                .at(pixel[1] as f32 * scale, pixel[0] as f32 * scale);
            off_mm += self.ragged_mm * rough;
        }
        let half = self.half_width(lie, k, own, tone)?;
        let edge_taper =
            (drawing.edge[pixel] - 0.3 * own * self.taper_mm) / self.taper_mm.max(1e-3);
        let half = half * edge_taper.clamp(0.0, 1.0);
        (half > 0.2 * self.thinnest_mm).then(|| Cut {
            inside_mm: half - off_mm,
            half_width_mm: half,
            strength: 0.85 + 0.15 * self.noise.draw(k, 37),
        })
    }

    /// Half width of line `k` for a tone, with its tapering ends and its dashes in the lights.
    fn half_width(&self, lie: &Lie, k: i32, own: f32, tone: f32) -> Option<f32> {
        let local_pitch = self.pitch_mm / lie.steep;
        let depth = (tone - self.from_tone) / (1.0 - self.from_tone).max(0.05);
        let swell = mix(self.fill[0], self.fill[1], depth.clamp(0.0, 1.0));
        let along = 1.0 + 0.12 * self.noise.along(k, lie.v / (3.0 * self.pitch_mm));
        let mut half = (0.5 * local_pitch * swell * along).max(0.5 * self.thinnest_mm);
        let place = lie.v / self.cut_mm + own * 50.0;
        let end_mm = (0.5 - (place - place.floor() - 0.5).abs()) * self.cut_mm;
        half *= mix(0.15, 1.0, step(0.0, self.taper_mm, end_mm));
        if depth < 0.0 {
            half = self.dashed(half, lie, k, own, 1.0 + (tone - self.from_tone) / FADE_TONE)?;
        }
        Some(half)
    }

    /// Breaks a line into dashes and then dots; `left` falls from 1 to 0 towards the lights.
    fn dashed(&self, half: f32, lie: &Lie, k: i32, own: f32, left: f32) -> Option<f32> {
        if self.dash_mm <= 0.0 {
            // Each line ends at a tone of its own.
            let ends_at = self.noise.draw(k, 51);
            return (left > ends_at).then(|| half * step(ends_at, ends_at + 0.3, left).max(0.3));
        }
        let place = lie.v / self.dash_mm + own * 31.0;
        let from_middle = 2.0 * (place - place.floor() - 0.5).abs();
        let room = 1.0 - from_middle / left.max(0.1);
        (room > 0.0).then(|| half * (3.0 * room).min(1.0).sqrt())
    }
}

/// Sums over the pixels of one system in one form.
#[derive(Clone, Copy, Default)]
struct Sums {
    ink: f64,
    per_mm: f64,
    width_mm: f64,
    double_angle: [f64; 2],
    middle_px: [f64; 2],
}

/// Truth of all systems as drawn, each in each form a system of its own, largest share first.
#[must_use]
pub fn truth(
    systems: &[Hatch],
    drawing: &Drawing,
    here: impl Fn([usize; 2]) -> bool,
    edge: Edge,
) -> Vec<HatchTruth> {
    let mut sums: BTreeMap<(u8, usize), Sums> = BTreeMap::new();
    let mut places: BTreeMap<(u8, usize, [usize; 2]), Sums> = BTreeMap::new();
    let (h, w) = drawing.shape();
    let side = h.max(w).div_ceil(PLACES_ACROSS);
    for y in (0..h).step_by(TRUTH_STRIDE) {
        for x in (0..w).step_by(TRUTH_STRIDE).filter(|&x| here([y, x])) {
            for (i, system) in systems.iter().enumerate() {
                if let Some(cut) = system.cut_at(drawing, [y, x]) {
                    let lie = system.lie_at(drawing, [y, x]);
                    let region = drawing.region[[y, x]];
                    let sum = sums.entry((region, i)).or_default();
                    sum.add(system, &cut, &lie, edge, [x, y]);
                    let place = places.entry((region, i, [y / side, x / side])).or_default();
                    place.add(system, &cut, &lie, edge, [x, y]);
                }
            }
        }
    }
    let all: f64 = sums.values().map(|s| s.ink).sum();
    let mut truth: Vec<HatchTruth> = sums
        .iter()
        .filter(|(_, s)| s.ink > LEAST_SHARE * all)
        .map(|(&(region, i), s)| HatchTruth {
            places: places
                .range((region, i, [0; 2])..=(region, i, [usize::MAX; 2]))
                .filter(|(_, place)| place.ink > 0.0)
                .map(|(_, place)| place.place(drawing))
                .collect(),
            ..s.truth(all)
        })
        .collect();
    truth.sort_by(|a, b| b.share.total_cmp(&a.share));
    truth
}

impl Sums {
    fn add(&mut self, system: &Hatch, cut: &Cut, lie: &Lie, edge: Edge, at: [usize; 2]) {
        let ink = f64::from(edge.cover(cut.inside_mm));
        self.ink += ink;
        self.per_mm += ink * f64::from(lie.steep / system.pitch_mm);
        self.width_mm += ink * f64::from(2.0 * cut.half_width_mm);
        // The lines run at right angles to the gradient of their coordinate.
        let line = angle_deg(f64::from(-lie.gradient[1]), f64::from(lie.gradient[0]));
        let (s, c) = (2.0 * line.to_radians()).sin_cos();
        self.double_angle[0] += ink * c;
        self.double_angle[1] += ink * s;
        for (sum, at) in self.middle_px.iter_mut().zip(at) {
            *sum += ink * at as f64;
        }
    }

    fn orientation_deg(&self) -> f64 {
        let [c, s] = self.double_angle;
        (0.5 * s.atan2(c)).to_degrees().rem_euclid(180.0)
    }

    fn truth(&self, all: f64) -> HatchTruth {
        HatchTruth {
            lines_per_mm: self.per_mm / self.ink,
            orientation_deg: self.orientation_deg(),
            width_um: 1000.0 * self.width_mm / self.ink,
            share: self.ink / all,
            places: Vec::new(),
        }
    }

    fn place(&self, drawing: &Drawing) -> HatchPlace {
        let (h, w) = drawing.shape();
        let middle = [w, h].map(|n| (n as f64 - 1.0) / 2.0);
        HatchPlace {
            at: [0, 1].map(|i| (self.middle_px[i] / self.ink - middle[i]) / drawing.px_per_mm),
            lines_per_mm: self.per_mm / self.ink,
            orientation_deg: self.orientation_deg(),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::specimen::drawing::compose;
    use crate::specimen::drawing::form::{Form, Kind};
    use crate::specimen::plate::manner::{burin, ruled};
    use rand::SeedableRng;
    use rand_chacha::ChaCha8Rng;
    use rustfft::FftPlanner;
    use rustfft::num_complex::Complex;

    const SIDE_PX: usize = 512;
    const PX_PER_MM: f64 = 40.0;

    fn even_field(rng: &mut ChaCha8Rng) -> Drawing {
        let form = Form::of_kind(Kind::Leaf, [5.0, 7.0], 60.0, rng).flattened(0.6);
        let mut wide = form;
        wide.half_width_mm = 60.0;
        compose::of_forms(PX_PER_MM, [SIDE_PX, SIDE_PX], vec![wide])
    }

    /// Frequency per mm and direction of the frequency vector (degrees) of the strongest peak.
    fn strongest(cover: &Plane) -> (f64, f64) {
        let n = SIDE_PX;
        let window = |i: usize| 0.5 - 0.5 * (std::f32::consts::TAU * i as f32 / n as f32).cos();
        let mean = cover.mean().unwrap_or(0.0);
        let mut a = ndarray::Array2::from_shape_fn((n, n), |(y, x)| {
            Complex::new((cover[[y, x]] - mean) * window(x) * window(y), 0.0)
        });
        let fft = FftPlanner::new().plan_fft_forward(n);
        for _ in 0..2 {
            for mut row in a.rows_mut() {
                fft.process(row.as_slice_mut().expect("rows are contiguous"));
            }
            a = a.t().as_standard_layout().to_owned();
        }
        let signed = |i: usize| {
            if i > n / 2 {
                i as f64 - n as f64
            } else {
                i as f64
            }
        };
        let ((y, x), _) = a
            .indexed_iter()
            .max_by(|p, q| p.1.norm().total_cmp(&q.1.norm()))
            .expect("not empty");
        let (fx, fy) = (signed(x), signed(y));
        (fx.hypot(fy) * PX_PER_MM / n as f64, angle_deg(fx, fy))
    }

    #[test]
    fn truth_agrees_with_the_spectrum_of_the_drawn_plane() {
        let edge = Edge::new(PX_PER_MM, 1.0);
        for seed in 0..5 {
            let mut rng = ChaCha8Rng::seed_from_u64(seed);
            let drawing = even_field(&mut rng);
            let system = Hatch {
                jitter: 0.05,
                wander: 0.05,
                ..burin(&mut rng)
            };
            let mut cover = Plane::zeros(drawing.shape());
            system.lay(&drawing, |_| true, &mut cover, edge);
            let truth = truth(&[system], &drawing, |_| true, edge);
            let (per_mm, frequency_deg) = strongest(&cover);
            // One bin of the transform.
            let bin = PX_PER_MM / SIDE_PX as f64;
            assert!(
                (truth[0].lines_per_mm - per_mm).abs() < bin,
                "{truth:?} {per_mm}"
            );
            let off =
                (truth[0].orientation_deg - frequency_deg - 90.0 + 90.0).rem_euclid(180.0) - 90.0;
            assert!(
                off.abs() < (bin / per_mm).to_degrees() + 0.5,
                "{truth:?} {frequency_deg}"
            );
            assert!((truth[0].share - 1.0).abs() < 1e-9);
        }
    }

    #[test]
    fn line_width_follows_the_cover() {
        let edge = Edge::new(PX_PER_MM, 1.0);
        let mut rng = ChaCha8Rng::seed_from_u64(11);
        let drawing = even_field(&mut rng);
        let ruled = Hatch {
            pitch_mm: 0.4,
            ..ruled(&mut rng)
        };
        let mut cover = Plane::zeros(drawing.shape());
        ruled.lay(&drawing, |_| true, &mut cover, edge);
        let truth = truth(&[ruled], &drawing, |_| true, edge);
        let share = cover.iter().filter(|&&a| a >= 0.5).count() as f64 / cover.len() as f64;
        let expected = truth[0].width_um / 1000.0 * truth[0].lines_per_mm;
        assert!((share / expected - 1.0).abs() < 0.08, "{share} {expected}");
    }
}
