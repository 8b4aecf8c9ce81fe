//! Stipple: where the dots stand, how large they are, and what is drawn among them.

use super::crowd::Crowd;
use super::dot::{Dot, DotShape};
use crate::plane::Plane;
use crate::specimen::drawing::Drawing;
use crate::specimen::drawing::stroke::{Edge, Stroke};
use crate::specimen::noise::mix;
use rand::RngExt;
use rand_chacha::ChaCha8Rng;
use rand_distr::{Distribution, StandardNormal};
use std::ops::RangeInclusive;

/// Smallest and largest dot diameter on a plate, mm.
const DIAMETER_MM: RangeInclusive<f32> = 0.025..=0.3;
/// Tone under which the plate is left bare.
const BARE_TONE: f32 = 0.03;
/// Tries for each wanted dot before a crowded plate is called full.
const TRIES_PER_DOT: usize = 10;
/// Most dots on one sheet; keeps a huge frame quick.
const MOST_DOTS: f64 = 300_000.0;

/// How one engraver stipples.
#[derive(Clone, Debug)]
pub struct StippleHand {
    /// Dots per mm² in the lights and in the darks.
    pub density_per_mm2: [f32; 2],
    /// Median dot diameter in the lights and in the darks, mm.
    pub diameter_mm: [f32; 2],
    /// Standard deviation of ln(diameter) side by side.
    pub scatter: f32,
    /// Least distance between neighbours, as a share of the mean spacing there, 0–1.
    pub inhibition: f32,
    /// Share of the dots that are drawn into rows which follow the form, 0–1.
    pub rows: f32,
    /// Share of flicks (short curved dashes), 0–1.
    pub flicks: f32,
    /// Length of a flick in units of its width.
    pub flick_length: f32,
    /// Share of dots that were bitten twice, side by side, 0–1.
    pub doubles: f32,
    /// Roulette tracks per mm of sheet side; 0 = none.
    pub tracks_per_mm: f32,
    /// How irregular the dots are.
    pub shape: DotShape,
}

impl StippleHand {
    /// Densities of 3–60 dots/mm² and diameters of 25–300 µm: the span of real plates from coarse
    /// chalk manner to fine portrait work (from memory; no published figures found).
    pub fn random(rng: &mut ChaCha8Rng) -> Self {
        let dark = 60.0_f32 * 0.1_f32.powf(rng.random_range(0.0..1.0));
        let cover: f32 = rng.random_range(0.25..0.75);
        let light = (dark * rng.random_range(0.15..0.9_f32)).max(3.0);
        let large = (4.0 * cover / (std::f32::consts::PI * dark)).sqrt();
        Self {
            density_per_mm2: [light, dark],
            diameter_mm: [large * rng.random_range(0.35..1.0), large],
            scatter: rng.random_range(0.12..0.55),
            inhibition: rng.random_range(0.25..0.95),
            rows: if rng.random_bool(0.6) {
                rng.random_range(0.3..1.0)
            } else {
                0.0
            },
            flicks: if rng.random_bool(0.5) {
                rng.random_range(0.05..0.6)
            } else {
                0.0
            },
            flick_length: rng.random_range(2.0..5.0),
            doubles: if rng.random_bool(0.3) {
                rng.random_range(0.02..0.3)
            } else {
                0.0
            },
            tracks_per_mm: if rng.random_bool(0.2) {
                rng.random_range(0.1..0.8)
            } else {
                0.0
            },
            shape: DotShape::random(rng),
        }
    }

    /// Wanted dots per mm² for a tone.
    #[must_use]
    pub fn density_at(&self, tone: f32) -> f32 {
        if tone < BARE_TONE {
            return 0.0;
        }
        let [light, dark] = self.density_per_mm2.map(f32::ln);
        mix(light, dark, tone).exp()
    }

    /// A diameter for a tone, mm.
    fn diameter_at(&self, tone: f32, rng: &mut ChaCha8Rng) -> f32 {
        let z: f32 = StandardNormal.sample(rng);
        let median = mix(self.diameter_mm[0], self.diameter_mm[1], tone);
        (median * (self.scatter * z).exp()).clamp(*DIAMETER_MM.start(), *DIAMETER_MM.end())
    }

    /// Lays all dots of a drawing on `cover`, where `here` allows.
    pub fn lay(
        &self,
        drawing: &Drawing,
        here: impl Fn([usize; 2]) -> bool,
        cover: &mut Plane,
        edge: Edge,
        rng: &mut ChaCha8Rng,
    ) {
        for (place, tone) in self.places(drawing, here, rng) {
            let diameter = self.diameter_at(tone, rng);
            if self.flicks > 0.0 && rng.random_bool(f64::from(self.flicks)) {
                let flick = self.flick(drawing, place, diameter, rng);
                let strength = rng.random_range(self.shape.strength..=1.0);
                flick.lay(cover, edge, strength, |_, _| 0.0);
                continue;
            }
            let dot = self.shape.dot(place, 0.5 * diameter, rng);
            dot.lay(cover, edge);
            if self.doubles > 0.0 && rng.random_bool(f64::from(self.doubles)) {
                self.twin(&dot, rng).lay(cover, edge);
            }
        }
        self.lay_tracks(drawing, cover, edge, rng);
    }

    /// Places of the dots with the tone there: inhibited random places whose density follows the
    /// tone, part of them drawn into rows.
    fn places(
        &self,
        drawing: &Drawing,
        here: impl Fn([usize; 2]) -> bool,
        rng: &mut ChaCha8Rng,
    ) -> Vec<([f32; 2], f32)> {
        let densest = self.density_per_mm2[0].max(self.density_per_mm2[1]);
        let wanted = self.wanted(drawing, &here);
        let mut crowd = Crowd::new(drawing, 1.0 / densest.sqrt());
        let (h, w) = drawing.shape();
        let scale = drawing.px_per_mm as f32;
        let sheet = [w as f32 / scale, h as f32 / scale];
        let share = wanted / (f64::from(densest) * f64::from(sheet[0] * sheet[1])).max(1e-9);
        let tries = (wanted * TRIES_PER_DOT as f64 / share.max(1e-3)).min(3e7) as usize;
        let mut places = Vec::new();
        for _ in 0..tries {
            if places.len() as f64 >= wanted {
                break;
            }
            let place = [
                rng.random_range(0.0..sheet[0]),
                rng.random_range(0.0..sheet[1]),
            ];
            let thin: f32 = rng.random();
            let Some(pixel) = drawing.pixel_at(place).filter(|&p| here(p)) else {
                continue;
            };
            let tone = drawing.tone[pixel];
            let density = self.density_at(tone);
            if thin * densest > density {
                continue;
            }
            let place = self.in_row(drawing, pixel, place, density, rng);
            // At full packing discs of this diameter hold about one dot per 1/density.
            let apart = 0.8 * self.inhibition / density.sqrt();
            if crowd.admits(place, apart) {
                crowd.add(place);
                places.push((place, tone));
            }
        }
        places
    }

    /// How many dots the tones ask for.
    fn wanted(&self, drawing: &Drawing, here: &impl Fn([usize; 2]) -> bool) -> f64 {
        let pixel_mm2 = 1.0 / (drawing.px_per_mm * drawing.px_per_mm);
        let sum: f64 = drawing
            .tone
            .indexed_iter()
            .filter(|&((y, x), _)| here([y, x]))
            .map(|(_, &tone)| f64::from(self.density_at(tone)))
            .sum();
        (sum * pixel_mm2).min(MOST_DOTS)
    }

    /// Moves a place onto the nearest row that follows the form, for the share of dots in rows.
    fn in_row(
        &self,
        drawing: &Drawing,
        pixel: [usize; 2],
        place: [f32; 2],
        density: f32,
        rng: &mut ChaCha8Rng,
    ) -> [f32; 2] {
        if self.rows <= 0.0 || !rng.random_bool(f64::from(self.rows)) {
            return place;
        }
        let [gx, gy] = drawing.gradient(&drawing.across, pixel);
        let steep2 = gx * gx + gy * gy;
        if steep2 < 0.05 {
            return place;
        }
        let pitch = 0.9 / self.density_per_mm2[1].min(2.0 * density).sqrt();
        let z: f32 = StandardNormal.sample(rng);
        let u = drawing.across[pixel];
        let off = (u / pitch).round() * pitch - u + 0.08 * pitch * z;
        [place[0] + off * gx / steep2, place[1] + off * gy / steep2]
    }

    fn flick(
        &self,
        drawing: &Drawing,
        place: [f32; 2],
        width: f32,
        rng: &mut ChaCha8Rng,
    ) -> Stroke {
        let pixel = drawing.pixel_at(place);
        let [gx, gy] = pixel.map_or([0.0, 1.0], |p| drawing.gradient(&drawing.across, p));
        let lead = (-gx).atan2(gy) + 0.2 * rng.random_range(-1.0..1.0_f32);
        let curl: f32 = rng.random_range(-0.5..0.5);
        // Narrower than a dot of the same name, so that both hold about the same ink.
        let width = width * 0.7;
        let step = width * self.flick_length * rng.random_range(0.6..1.2) / 4.0;
        let mut at = place;
        let mut turn = lead - curl;
        let (mut places, mut widths) = (vec![at], vec![0.5 * width]);
        for i in 1..=4 {
            at = [at[0] + step * turn.cos(), at[1] + step * turn.sin()];
            turn += 0.5 * curl;
            places.push(at);
            widths.push(width * [1.0, 0.9, 0.6, 0.25][i - 1]);
        }
        Stroke {
            places_mm: places,
            widths_mm: widths,
        }
    }

    fn twin(&self, dot: &Dot, rng: &mut ChaCha8Rng) -> Dot {
        let turn: f32 = rng.random_range(0.0..std::f32::consts::TAU);
        let apart = dot.radius_mm * rng.random_range(1.1..2.1);
        let centre = [
            dot.centre_mm[0] + apart * turn.cos(),
            dot.centre_mm[1] + apart * turn.sin(),
        ];
        self.shape
            .dot(centre, dot.radius_mm * rng.random_range(0.6..1.0), rng)
    }

    /// Roulette tracks: a toothed wheel run along the form, evenly spaced along one track only.
    fn lay_tracks(&self, drawing: &Drawing, cover: &mut Plane, edge: Edge, rng: &mut ChaCha8Rng) {
        let (h, w) = drawing.shape();
        let scale = drawing.px_per_mm as f32;
        let sheet = [w as f32 / scale, h as f32 / scale];
        let tracks = (self.tracks_per_mm * sheet[0].max(sheet[1])).ceil() as usize;
        for _ in 0..tracks {
            let start = [
                rng.random_range(0.0..1.0) * sheet[0],
                rng.random_range(0.0..1.0) * sheet[1],
            ];
            let tooth = rng.random_range(0.9..1.6) / self.density_per_mm2[1].sqrt();
            let teeth = rng.random_range(20..90);
            self.lay_track(drawing, start, tooth, teeth, cover, edge, rng);
        }
    }

    #[expect(
        clippy::too_many_arguments,
        reason = "a track is its start, pitch and length"
    )]
    fn lay_track(
        &self,
        drawing: &Drawing,
        mut at: [f32; 2],
        tooth_mm: f32,
        teeth: usize,
        cover: &mut Plane,
        edge: Edge,
        rng: &mut ChaCha8Rng,
    ) {
        for _ in 0..teeth {
            let Some(pixel) = drawing.pixel_at(at) else {
                return;
            };
            let tone = drawing.tone[pixel];
            if tone < BARE_TONE {
                return;
            }
            let [gx, gy] = drawing.gradient(&drawing.across, pixel);
            let steep = gx.hypot(gy).max(1e-3);
            let radius = 0.42 * mix(self.diameter_mm[0], self.diameter_mm[1], tone);
            self.shape.dot(at, radius, rng).lay(cover, edge);
            at = [at[0] + tooth_mm * gy / steep, at[1] - tooth_mm * gx / steep];
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::specimen::drawing::compose;
    use crate::specimen::drawing::form::{Form, Kind};
    use crate::specimen::patches;
    use rand::SeedableRng;

    const PX_PER_MM: f64 = 60.0;

    fn even_field(tone: f32, rng: &mut ChaCha8Rng) -> Drawing {
        let form = Form::of_kind(Kind::Ground, [4.0, 3.0], 30.0, rng).flattened(tone);
        compose::of_forms(PX_PER_MM, [500, 410], vec![form])
    }

    fn hand(density: f32, diameter_mm: f32, rng: &mut ChaCha8Rng) -> StippleHand {
        StippleHand {
            density_per_mm2: [density, density],
            diameter_mm: [diameter_mm, diameter_mm],
            scatter: 0.2,
            inhibition: 0.9,
            rows: 0.0,
            flicks: 0.0,
            doubles: 0.0,
            tracks_per_mm: 0.0,
            shape: DotShape {
                aspect: 1.1,
                lobe: 0.05,
                strength: 1.0,
            },
            ..StippleHand::random(rng)
        }
    }

    #[test]
    fn dots_have_the_density_and_size_asked_for() {
        let mut rng = ChaCha8Rng::seed_from_u64(6);
        for (density, diameter) in [(6.0_f32, 0.11_f32), (15.0, 0.08), (30.0, 0.06)] {
            let drawing = even_field(0.5, &mut rng);
            let hand = hand(density, diameter, &mut rng);
            let mut cover = Plane::zeros(drawing.shape());
            hand.lay(
                &drawing,
                |_| true,
                &mut cover,
                Edge::new(PX_PER_MM, 1.0),
                &mut rng,
            );
            let marks = patches::marks_of(&cover, PX_PER_MM);
            // A few dots touch and count as one, some are cut by the frame.
            let found = marks.density_per_mm2 / f64::from(density);
            assert!((0.85..1.06).contains(&found), "{density}: {marks:?}");
            let size = marks.diameter_um[1] / (1000.0 * f64::from(diameter));
            assert!((0.93..1.07).contains(&size), "{diameter}: {marks:?}");
        }
    }

    #[test]
    fn neighbours_keep_their_distance() {
        let mut rng = ChaCha8Rng::seed_from_u64(7);
        let drawing = even_field(0.5, &mut rng);
        let places = hand(10.0, 0.1, &mut rng).places(&drawing, |_| true, &mut rng);
        let apart = 0.8 * 0.9 / 10.0_f32.sqrt();
        for (i, (a, _)) in places.iter().enumerate() {
            for (b, _) in &places[..i] {
                assert!((a[0] - b[0]).hypot(a[1] - b[1]) >= apart * 0.999);
            }
        }
        assert!(places.len() > 400, "{}", places.len());
    }

    #[test]
    fn bare_tone_stays_bare() {
        let mut rng = ChaCha8Rng::seed_from_u64(8);
        let drawing = even_field(0.01, &mut rng);
        assert!(
            hand(10.0, 0.1, &mut rng)
                .places(&drawing, |_| true, &mut rng)
                .is_empty()
        );
    }
}
