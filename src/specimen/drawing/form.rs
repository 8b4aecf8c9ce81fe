//! One form of a subject: its outline, how it is lit, and the coordinates that lines follow.

use super::stroke::Stroke;
use crate::specimen::noise::{Noise, mix, step};
use rand::RngExt;
use rand_chacha::ChaCha8Rng;

/// What is drawn.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// Leaf with midrib and side veins.
    Leaf,
    /// Petal with folds.
    Petal,
    /// Ribbed shell.
    Shell,
    /// Feather with barbs.
    Feather,
    /// Beetle's wing case: dark, glossy.
    Beetle,
    /// Insect's wing: veins and spots.
    Wing,
    /// Stem or twig.
    Stem,
    /// Ground or sky behind everything.
    Ground,
}

const KINDS: [Kind; 7] = [
    Kind::Leaf,
    Kind::Petal,
    Kind::Shell,
    Kind::Feather,
    Kind::Beetle,
    Kind::Wing,
    Kind::Stem,
];

/// Steps of the tabled outline from tip to tip.
const PROFILE_STEPS: usize = 96;

/// A form placed on the sheet.
#[derive(Clone, Debug)]
pub struct Form {
    /// What it is.
    pub kind: Kind,
    /// Its middle on the sheet, mm.
    pub centre_mm: [f32; 2],
    /// Half its length, mm.
    pub half_length_mm: f32,
    /// Half its greatest width, mm.
    pub half_width_mm: f32,
    axis: [f32; 2],
    bend: f32,
    profile: Vec<f32>,
    light: [f32; 2],
    /// Darkest and lightest tone that the modelling reaches.
    pub tones: [f32; 2],
    gamma: f32,
    rim: f32,
    folds: f32,
    /// Folds from tip to tip, about.
    pub fold_count: f32,
    pattern: f32,
    ribs: f32,
    lie: [f32; 2],
    pinch: f32,
    bow: f32,
    warp: f32,
    noise: Noise,
}

/// What is seen of a form at one place.
#[derive(Clone, Copy, Debug)]
pub struct Seen {
    /// Wanted darkness, 0–1.
    pub tone: f32,
    /// Coordinate across the lines that follow the form, mm.
    pub across_mm: f32,
    /// Coordinate along them, mm.
    pub along_mm: f32,
    /// Distance inside the outline, mm.
    pub edge_mm: f32,
}

/// Place within a form: `s` from tip to tip and `t` from side to side, both −1 … 1; `p`, `q` the
/// same in mm; `w` the half width at `s` in mm.
struct Local {
    s: f32,
    t: f32,
    p: f32,
    q: f32,
    w: f32,
}

impl Form {
    /// A form of a random kind, about `half_length_mm` long.
    pub fn random(centre_mm: [f32; 2], half_length_mm: f32, rng: &mut ChaCha8Rng) -> Self {
        let kind = KINDS[rng.random_range(0..KINDS.len())];
        Self::of_kind(kind, centre_mm, half_length_mm, rng)
    }

    /// A form of a given kind with everything else random.
    pub fn of_kind(
        kind: Kind,
        centre_mm: [f32; 2],
        half_length_mm: f32,
        rng: &mut ChaCha8Rng,
    ) -> Self {
        let turn: f32 = rng.random_range(0.0..std::f32::consts::TAU);
        let light: f32 = rng.random_range(0.0..std::f32::consts::TAU);
        let lie: f32 = lie_of(kind, rng);
        Self {
            kind,
            centre_mm,
            half_length_mm,
            half_width_mm: half_length_mm * slenderness(kind, rng),
            axis: [turn.cos(), turn.sin()],
            bend: if kind == Kind::Ground {
                0.0
            } else {
                rng.random_range(-0.35..0.35)
            },
            profile: profile(kind, rng),
            light: [light.cos(), light.sin()],
            tones: tones(kind, rng),
            gamma: rng.random_range(0.7..2.2),
            rim: rng.random_range(0.0..0.35),
            folds: rng.random_range(0.0..0.6),
            fold_count: rng.random_range(1.5..6.0),
            pattern: if rng.random_bool(0.6) {
                rng.random_range(0.1..0.6)
            } else {
                0.0
            },
            ribs: rng.random_range(5.0..22.0),
            lie: [lie.cos(), lie.sin()],
            pinch: if rng.random_bool(0.6) {
                rng.random_range(0.0..0.8)
            } else {
                0.0
            },
            bow: rng.random_range(-0.8..0.8),
            warp: rng.random_range(0.0..0.08),
            noise: Noise::new(rng),
        }
    }

    /// The same form lit evenly and lined in straight parallels along its axis: a test piece.
    #[must_use]
    pub fn flattened(mut self, tone: f32) -> Self {
        self.tones = [tone, tone];
        (self.rim, self.folds, self.pattern) = (0.0, 0.0, 0.0);
        (self.bend, self.bow, self.pinch, self.warp) = (0.0, 0.0, 0.0, 0.0);
        self
    }

    /// What is seen at a place on the sheet, or nothing outside the outline.
    #[must_use]
    pub fn at(&self, place_mm: [f32; 2]) -> Option<Seen> {
        let [dx, dy] = [
            place_mm[0] - self.centre_mm[0],
            place_mm[1] - self.centre_mm[1],
        ];
        let p = self.axis[0] * dx + self.axis[1] * dy;
        let s = p / self.half_length_mm;
        if s.abs() >= 1.0 {
            return None;
        }
        let q = self.axis[0] * dy - self.axis[1] * dx - self.bend * self.half_length_mm * s * s;
        if q.abs() >= self.half_width_mm * 1.3 {
            return None;
        }
        let w = self.half_width(s);
        let slope = (self.half_width((s + 0.02).min(1.0)) - w) / (0.02 * self.half_length_mm);
        let edge_mm = (w - q.abs()) / (1.0 + slope * slope).sqrt();
        if edge_mm <= 0.0 {
            return None;
        }
        let edge_mm = edge_mm.min((1.0 - s.abs()) * self.half_length_mm);
        let t = q / w;
        let local = Local { s, t, p, q, w };
        let (across_mm, along_mm) = self.lines(&local);
        Some(Seen {
            tone: self.tone(&local, edge_mm),
            across_mm,
            along_mm,
            edge_mm,
        })
    }

    /// Half width at `s` (−1 … 1), mm.
    fn half_width(&self, s: f32) -> f32 {
        let at = (s + 1.0) * 0.5 * PROFILE_STEPS as f32;
        let i = (at as usize).min(PROFILE_STEPS - 1);
        mix(self.profile[i], self.profile[i + 1], at - i as f32) * self.half_width_mm
    }

    /// Coordinates across and along the lines. Lines that run lengthwise draw together where the
    /// form narrows (`pinch`), lines that run crosswise bow round it.
    fn lines(&self, at: &Local) -> (f32, f32) {
        let narrow = (at.w / self.half_width_mm).max(0.45);
        let warp = self.warp * self.half_width_mm * self.noise.at(at.t + 5.0, 3.0 * at.s);
        let q = at.q * mix(1.0, 1.0 / narrow, self.pinch) + warp;
        let p = at.p + self.bow * at.q * at.q / self.half_width_mm;
        (
            self.lie[1] * p + self.lie[0] * q,
            self.lie[0] * p - self.lie[1] * q,
        )
    }

    fn tone(&self, at: &Local, edge_mm: f32) -> f32 {
        let round = 0.5 + 0.5 * (self.light[0] * at.t + self.light[1] * at.s);
        let fold = self.folds
            * self
                .noise
                .rough(self.fold_count * at.s, 0.7 * self.fold_count * at.t);
        let rim = self.rim * (1.0 - step(0.0, 0.25 * self.half_width_mm, edge_mm));
        let shade = (round.clamp(0.0, 1.0).powf(self.gamma) + fold + rim).clamp(0.0, 1.0);
        let modelled = mix(self.tones[1], self.tones[0], shade);
        (modelled + self.pattern * self.marking(at)).clamp(0.0, 1.0)
    }

    /// The subject's own markings: ribs, barbs, veins or spots, −1 … 1.
    fn marking(&self, at: &Local) -> f32 {
        match self.kind {
            Kind::Shell => (self.ribs * (at.t + 0.15 * at.s * at.t)).sin() * 0.6,
            Kind::Feather => (self.ribs * 3.0 * (at.s - 0.4 * at.t.abs())).sin() * 0.5,
            Kind::Wing => {
                let spots = self.noise.at(3.5 * at.s, 2.5 * at.t + 9.0);
                step(0.3, 0.4, spots) + step(0.75, 0.85, at.s)
            }
            Kind::Beetle => {
                -1.5 * step(0.25, 0.0, (at.t - 0.35).abs()) * step(0.8, 0.3, at.s.abs())
            }
            Kind::Leaf => 0.5 * (self.ribs * (at.s - 0.5 * at.t.abs())).sin().max(0.0),
            _ => 0.5 * self.noise.at(1.2 * at.s, 4.0 * at.t),
        }
    }

    /// A place on the sheet for local `s`, `t` (−1 … 1).
    #[must_use]
    pub fn place(&self, s: f32, t: f32) -> [f32; 2] {
        let p = s * self.half_length_mm;
        let q = t * self.half_width(s) + self.bend * self.half_length_mm * s * s;
        [
            self.centre_mm[0] + self.axis[0] * p - self.axis[1] * q,
            self.centre_mm[1] + self.axis[1] * p + self.axis[0] * q,
        ]
    }

    /// Outline and inner lines (midrib, veins, seam), whole, as if nothing lay in front.
    #[must_use]
    pub fn contours(&self, width_mm: f32) -> Vec<Stroke> {
        if self.kind == Kind::Ground {
            return Vec::new();
        }
        let side = |t: f32| self.drawn((0..=120).map(|i| (i as f32 / 60.0 - 1.0, t)), width_mm);
        let mut lines = vec![side(0.99), side(-0.99)];
        match self.kind {
            Kind::Leaf | Kind::Wing => {
                lines.push(self.drawn((0..=60).map(|i| (i as f32 / 30.0 - 1.0, 0.0)), width_mm));
                lines.extend(self.side_veins(0.6 * width_mm));
            }
            Kind::Feather | Kind::Beetle => {
                lines.push(self.drawn((0..=60).map(|i| (i as f32 / 30.0 - 1.0, 0.05)), width_mm));
            }
            _ => {}
        }
        lines
    }

    fn side_veins(&self, width_mm: f32) -> Vec<Stroke> {
        let pairs = (self.ribs * 0.5) as usize;
        (1..pairs)
            .flat_map(|i| [(i, 1.0), (i, -1.0)])
            .map(|(i, side)| {
                let from = 2.0 * i as f32 / pairs as f32 - 1.0;
                let path = (0..=14).map(move |j| {
                    let t = j as f32 / 16.0;
                    ((from + 0.35 * t).min(0.98), side * t)
                });
                self.drawn(path, width_mm)
            })
            .collect()
    }

    fn drawn(&self, path: impl Iterator<Item = (f32, f32)>, width_mm: f32) -> Stroke {
        let places = path.map(|(s, t)| self.place(s, t)).collect();
        Stroke::swelling(places, width_mm)
    }
}

fn slenderness(kind: Kind, rng: &mut ChaCha8Rng) -> f32 {
    match kind {
        Kind::Stem => rng.random_range(0.03..0.12),
        Kind::Feather => rng.random_range(0.15..0.4),
        Kind::Leaf => rng.random_range(0.2..0.7),
        Kind::Ground => 1.0,
        _ => rng.random_range(0.4..0.95),
    }
}

/// Angle between the lines and the form's axis, radians.
fn lie_of(kind: Kind, rng: &mut ChaCha8Rng) -> f32 {
    match kind {
        Kind::Ground if rng.random_bool(0.7) => 0.0,
        _ => rng.random_range(-1.6..1.6),
    }
}

/// Darkest and lightest tone.
fn tones(kind: Kind, rng: &mut ChaCha8Rng) -> [f32; 2] {
    let dark = match kind {
        Kind::Beetle => rng.random_range(0.7..1.0),
        Kind::Ground => rng.random_range(0.15..0.7),
        _ => rng.random_range(0.35..1.0),
    };
    // A few forms are solid darks, most are modelled nearly to the light of the paper.
    let light = if rng.random_bool(0.12) {
        rng.random_range(0.6..0.95)
    } else {
        rng.random_range(0.0..0.4)
    };
    [dark, dark * light]
}

/// Half widths from tip to tip, greatest about 1.
fn profile(kind: Kind, rng: &mut ChaCha8Rng) -> Vec<f32> {
    let blunt: f32 = match kind {
        Kind::Ground => 0.0,
        Kind::Stem => 0.12,
        Kind::Leaf | Kind::Feather => rng.random_range(0.6..1.3),
        _ => rng.random_range(0.35..0.7),
    };
    let skew: f32 = rng.random_range(-0.5..0.5);
    let waves: f32 = rng.random_range(3.0..26.0);
    let ragged: f32 = match kind {
        Kind::Ground | Kind::Beetle => 0.0,
        _ => rng.random_range(0.0..0.07),
    };
    let phase: f32 = rng.random_range(0.0..6.0);
    (0..=PROFILE_STEPS)
        .map(|i| {
            let s = 2.0 * i as f32 / PROFILE_STEPS as f32 - 1.0;
            let body =
                (1.0 - s * s).max(0.0).powf(blunt) * (1.0 + skew * s) / (1.0 + 0.25 * skew.abs());
            (body * (1.0 + ragged * (waves * s + phase).sin())).clamp(0.0, 1.25)
        })
        .collect()
}
