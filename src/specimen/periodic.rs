//! Pictures that repeat but show no halftone: what must not raise a false alarm; and a rule.

use super::camera::{CameraRecipe, Demosaic, FileKind};
use super::paper::{LaidMarks, PaperRecipe, Stock};
use super::sheet::{ColourTruth, HatchTruth, Layer, Origin, Sheet, SheetTruth};
use crate::plane::{Plane, Rgb};
use rand::{Rng, RngExt};
use serde::{Deserialize, Serialize};

/// A periodic look-alike.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Periodic {
    /// Blank laid paper with strong ribs.
    LaidPaper,
    /// Blank paper under heavy JPEG: the 8-px grid.
    CompressedBlank,
    /// Blank paper with strong noise through a colour filter array, sharpened.
    DemosaicMaze,
    /// A photographed monitor.
    Monitor,
    /// A machine-ruled sky: one vector.
    RuledSky,
    /// A millimetre rule.
    Rule,
}

impl Periodic {
    /// All of them.
    pub const ALL: [Self; 6] = [
        Self::LaidPaper,
        Self::CompressedBlank,
        Self::DemosaicMaze,
        Self::Monitor,
        Self::RuledSky,
        Self::Rule,
    ];

    /// Its name in words.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::LaidPaper => "blank laid paper",
            Self::CompressedBlank => "blank paper, heavily compressed",
            Self::DemosaicMaze => "blank paper, noisy and demosaiced",
            Self::Monitor => "photographed monitor",
            Self::RuledSky => "machine-ruled sky",
            Self::Rule => "millimetre rule",
        }
    }

    /// Bends the camera to bring out the effect.
    pub fn spoil(self, camera: &mut CameraRecipe, rng: &mut impl Rng) {
        match self {
            Self::CompressedBlank => {
                camera.file = FileKind::Jpeg {
                    quality: rng.random_range(12..50),
                    half_colour: true,
                };
            }
            Self::DemosaicMaze => {
                camera.demosaic = Demosaic::GradientCorrected;
                camera.full_well = rng.random_range(100.0..900.0);
                camera.sharpen = rng.random_range(0.6..2.0);
            }
            Self::Rule => camera.loupe = None,
            _ => {}
        }
    }

    /// Paper under it.
    pub fn paper(self, rng: &mut impl Rng) -> PaperRecipe {
        match self {
            Self::LaidPaper => {
                let mut paper = PaperRecipe::of_stock(Stock::Laid, rng);
                paper.laid = Some(LaidMarks {
                    depth: rng.random_range(0.03..0.1),
                    wires_per_mm: rng.random_range(0.7..2.2),
                    ..LaidMarks::any(rng)
                });
                paper
            }
            Self::Monitor | Self::Rule => {
                let mut paper = PaperRecipe::of_stock(Stock::Coated, rng);
                paper.scatter_mm = 0.0;
                paper
            }
            _ => PaperRecipe::old(rng),
        }
    }

    /// What lies on the paper.
    pub fn sheet(self, px_per_mm: f64, size_px: [usize; 2], rng: &mut impl Rng) -> Sheet {
        let mut sheet = blank(self, px_per_mm, size_px);
        match self {
            Self::Monitor => sheet.layers.push(monitor(px_per_mm, size_px, rng)),
            Self::RuledSky => {
                let (layer, hatch) = ruled_sky(px_per_mm, size_px, rng);
                sheet.layers.push(layer);
                sheet.truth.origin = Origin::LineEngraving;
                sheet.truth.hatching = vec![hatch];
            }
            Self::Rule => sheet.layers.push(rule(px_per_mm, size_px, rng)),
            _ => {}
        }
        sheet
    }
}

fn blank(kind: Periodic, px_per_mm: f64, size_px: [usize; 2]) -> Sheet {
    Sheet {
        px_per_mm,
        size_px,
        layers: Vec::new(),
        truth: SheetTruth {
            origin: Origin::Other,
            other: Some(kind.name().to_owned()),
            colouring: vec![ColourTruth::None],
            marks: None,
            hatching: Vec::new(),
            screens: Vec::new(),
            stochastic: false,
            grains_per_mm: None,
            tint: None,
        },
    }
}

/// Share of a pixel within a band, from the distance of its middle to the band's edge (px, inside positive).
fn within(inside_px: f64) -> f64 {
    (inside_px + 0.5).clamp(0.0, 1.0)
}

/// Three upright bars to a picture element, parted by a dark grid.
fn monitor(px_per_mm: f64, size_px: [usize; 2], rng: &mut impl Rng) -> Layer {
    // Elements of 0.05 mm (telephone) to 0.3 mm (desk monitor).
    let pitch_mm = rng.random_range(0.05f64.ln()..0.3f64.ln()).exp();
    // Mostly resolved: at least three sheet px to an element.
    let pitch_px = (px_per_mm * pitch_mm).max(3.0);
    let fill = rng.random_range(0.55..0.9);
    let level = [0; 3].map(|_| rng.random_range(0.25..1.0));
    let slope = [0; 3].map(|_| rng.random_range(-0.3..0.3) / size_px[0].max(1) as f64);
    let drift: Rgb = [0, 1, 2].map(|c: usize| {
        Plane::from_shape_fn((size_px[1], size_px[0]), |(y, x)| {
            let (x, y) = (x as f64, y as f64);
            let u = (x - pitch_px * (c as f64 + 0.5) / 3.0).rem_euclid(pitch_px);
            let across = u.min(pitch_px - u);
            let down = (y.rem_euclid(pitch_px) - pitch_px / 2.0).abs();
            let lit = within(fill * pitch_px / 6.0 - across) * within(fill * pitch_px / 2.0 - down);
            let light = 0.015 + lit * (level[c] + slope[c] * x).clamp(0.05, 1.0);
            -light.log10() as f32
        })
    });
    Layer {
        drift: Some(drift),
        ..Layer::film(Plane::ones((size_px[1], size_px[0])), [0.5; 3])
    }
}

/// Parallel lines of slowly changing width, evenly spaced by a machine.
fn ruled_sky(px_per_mm: f64, size_px: [usize; 2], rng: &mut impl Rng) -> (Layer, HatchTruth) {
    let lines_per_mm = rng.random_range(2.5..9.0);
    let orientation_deg = (rng.random_range(-8.0..8.0f64)).rem_euclid(180.0);
    let width_mm = rng.random_range(0.15..0.55) / lines_per_mm;
    let (sin, cos) = orientation_deg.to_radians().sin_cos();
    let waves = [rng.random_range(0.2..1.5), rng.random_range(0.05..0.4)];
    let pitch_px = px_per_mm / lines_per_mm;
    let cover = Plane::from_shape_fn((size_px[1], size_px[0]), |(y, x)| {
        let (x, y) = (x as f64, y as f64);
        let along_mm = (x * cos - y * sin) / px_per_mm;
        let across = (x * sin + y * cos).rem_euclid(pitch_px) - pitch_px / 2.0;
        let down_mm = y / px_per_mm;
        let swell = 1.0 + 0.25 * (waves[0] * along_mm).sin() + 0.2 * (waves[1] * down_mm).sin();
        within(0.5 * width_mm * px_per_mm * swell - across.abs()) as f32
    });
    let truth = HatchTruth {
        lines_per_mm,
        orientation_deg,
        width_um: 1000.0 * width_mm,
        share: 1.0,
        places: Vec::new(),
    };
    (Layer::ink(cover, [1.1, 1.15, 1.2]), truth)
}

/// Ticks every millimetre (some rules: half), longer at five and ten.
fn rule(px_per_mm: f64, size_px: [usize; 2], rng: &mut impl Rng) -> Layer {
    let step_mm = if rng.random_bool(0.3) { 0.5 } else { 1.0 };
    let width_px = px_per_mm * rng.random_range(0.06..0.2);
    let base_px = size_px[1] as f64 * rng.random_range(0.3..0.7);
    let start_px = px_per_mm * rng.random_range(0.0..10.0);
    let unit_mm = rng.random_range(1.2..2.5);
    let cover = Plane::from_shape_fn((size_px[1], size_px[0]), |(y, x)| {
        let at_mm = (x as f64 + start_px) / px_per_mm;
        let nearest = (at_mm / step_mm).round();
        let off_px = (at_mm - nearest * step_mm).abs() * px_per_mm;
        let length_px = px_per_mm * unit_mm * tick_length(nearest * step_mm);
        let up_px = base_px - y as f64;
        (within(width_px / 2.0 - off_px) * within(up_px) * within(length_px - up_px)) as f32
    });
    Layer::ink(cover, [1.3, 1.3, 1.3])
}

/// Relative length of the tick at a place in mm.
fn tick_length(mm: f64) -> f64 {
    let whole = |every: f64| (mm / every - (mm / every).round()).abs() < 1e-6;
    match () {
        () if whole(10.0) => 2.6,
        () if whole(5.0) => 1.9,
        () if whole(1.0) => 1.2,
        () => 0.7,
    }
}
