//! Paper before ink: colour, fibre, laid and wire marks, foxing; and how light spreads in it.

use super::texture;
use crate::plane::{Plane, Rgb};
use palette::{FromColor, Lab, LinSrgb, white_point::D65};
use rand::{Rng, RngExt};
use rayon::prelude::*;
use serde::{Deserialize, Serialize};

/// Kinds of sheet that look different under a loupe.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Stock {
    /// Smooth, white pigment coat.
    Coated,
    /// Calendered, uncoated.
    Smooth,
    /// Wove, with visible fibre and the mesh of its mould.
    Wove,
    /// Laid: wires about a millimetre apart, chains an inch or so apart.
    Laid,
    /// Newsprint: grey, rough, specked.
    News,
}

/// Ribs left by the wires of a mould.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct LaidMarks {
    /// Laid wires per mm.
    pub wires_per_mm: f64,
    /// Distance of the chain lines, mm.
    pub chain_mm: f64,
    /// Direction of the laid lines, degrees counter-clockwise as seen.
    pub angle_deg: f64,
    /// Depth of the pattern in reflectance, 0–1.
    pub depth: f64,
}

/// Print of the woven wire or the felt.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct MeshMarks {
    /// Threads per mm along the two directions.
    pub threads_per_mm: [f64; 2],
    /// Direction of the first set, degrees counter-clockwise as seen.
    pub angle_deg: f64,
    /// Depth in reflectance, 0–1.
    pub depth: f64,
}

/// All that is needed to lay a sheet.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct PaperRecipe {
    /// Kind.
    pub stock: Stock,
    /// Colour, CIELAB with the paper's illuminant as white.
    pub lab: [f64; 3],
    /// Strength of single fibres, standard deviation of reflectance relative to the mean.
    pub fibre: f64,
    /// Strength of cloudiness at the scale of a millimetre or more.
    pub cloud: f64,
    /// Laid marks.
    pub laid: Option<LaidMarks>,
    /// Wire or felt marks.
    pub mesh: Option<MeshMarks>,
    /// Fox marks per cm².
    pub foxing_per_cm2: f64,
    /// Dark specks per mm².
    pub specks_per_mm2: f64,
    /// Standard deviation of the sideways travel of light inside the sheet, mm. Measured
    /// line-spread functions of papers are a few hundredths of a millimetre (from memory).
    pub scatter_mm: f64,
    /// Light returned by the surface without entering, as a share of white.
    pub surface: f64,
}

impl PaperRecipe {
    /// An old hand- or machine-made sheet.
    pub fn old(rng: &mut impl Rng) -> Self {
        let laid = rng.random_bool(0.25);
        let stock = if laid { Stock::Laid } else { Stock::Wove };
        let mut paper = Self::of_stock(stock, rng);
        paper.lab = aged_lab(rng);
        if rng.random_bool(0.25) {
            paper.foxing_per_cm2 = rng.random_range(0.3..4.0);
        }
        paper
    }

    /// A sheet such as modern reproductions are printed on.
    pub fn modern(rng: &mut impl Rng) -> Self {
        let stock = match rng.random_range(0..10) {
            0..4 => Stock::Coated,
            4..7 => Stock::Smooth,
            7..9 => Stock::Wove,
            _ => Stock::News,
        };
        Self::of_stock(stock, rng)
    }

    /// A sheet of a given kind.
    pub fn of_stock(stock: Stock, rng: &mut impl Rng) -> Self {
        let roughness = match stock {
            Stock::Coated => 0.006,
            Stock::Smooth => 0.012,
            Stock::Wove | Stock::Laid => 0.022,
            Stock::News => 0.03,
        };
        Self {
            stock,
            lab: fresh_lab(stock, rng),
            fibre: roughness * rng.random_range(0.5..1.6),
            cloud: roughness * rng.random_range(0.2..1.0),
            laid: (stock == Stock::Laid).then(|| LaidMarks::any(rng)),
            mesh: (stock != Stock::Coated && rng.random_bool(0.4)).then(|| MeshMarks::any(rng)),
            foxing_per_cm2: 0.0,
            specks_per_mm2: match stock {
                Stock::News => rng.random_range(0.1..0.8),
                Stock::Wove | Stock::Laid => rng.random_range(0.0..0.15),
                _ => 0.0,
            },
            scatter_mm: rng.random_range(0.012..0.06),
            surface: rng.random_range(0.0..0.035),
        }
    }
}

impl LaidMarks {
    /// Laid lines about a millimetre apart and chains about an inch (from memory).
    pub fn any(rng: &mut impl Rng) -> Self {
        Self {
            wires_per_mm: rng.random_range(0.75..1.4),
            chain_mm: rng.random_range(22.0..29.0),
            angle_deg: rng.random_range(-3.0..3.0) + if rng.random_bool(0.5) { 90.0 } else { 0.0 },
            depth: rng.random_range(0.008..0.035),
        }
    }
}

impl MeshMarks {
    /// Machine wires of 60–90 threads an inch (from memory).
    pub fn any(rng: &mut impl Rng) -> Self {
        let threads = rng.random_range(2.0..3.6);
        Self {
            threads_per_mm: [threads, threads * rng.random_range(0.75..1.2)],
            angle_deg: rng.random_range(-4.0..4.0),
            depth: rng.random_range(0.002..0.012),
        }
    }
}

fn fresh_lab(stock: Stock, rng: &mut impl Rng) -> [f64; 3] {
    let [l, a, b] = match (stock, rng.random_range(0..4)) {
        (Stock::News, _) => [82.0, 0.5, 6.0],
        (_, 0) => [94.0, 0.0, 1.0],
        (_, 1) => [92.0, 0.5, 6.0],
        (_, 2) => [95.0, 1.0, -3.0],
        _ => [89.0, 1.0, 11.0],
    };
    jittered([l, a, b], rng)
}

/// Cream, tan, grey, bluish or plain old white.
fn aged_lab(rng: &mut impl Rng) -> [f64; 3] {
    let lab = match rng.random_range(0..6) {
        0 | 1 => [90.0, 1.0, 10.0],
        2 => [84.0, 3.0, 19.0],
        3 => [85.0, 0.0, 5.0],
        4 => [86.0, -1.5, -1.0],
        _ => [93.0, 0.0, 5.0],
    };
    jittered(lab, rng)
}

fn jittered(lab: [f64; 3], rng: &mut impl Rng) -> [f64; 3] {
    [
        (lab[0] + rng.random_range(-2.5..2.0)).min(97.0),
        lab[1] + rng.random_range(-1.2..1.2),
        lab[2] + rng.random_range(-2.5..2.5),
    ]
}

/// Linear sRGB reflectance of a CIELAB colour, each channel in [0.002, 1].
///
/// The Lab values are taken as relative to the picture's own white, so that a print colour given
/// for D50 keeps its appearance in a picture whose white is D65.
#[must_use]
pub fn linear_from_lab(lab: [f64; 3]) -> [f64; 3] {
    let lab: Lab<D65, f64> = Lab::new(lab[0], lab[1], lab[2]);
    let rgb: LinSrgb<f64> = LinSrgb::from_color(lab);
    [rgb.red, rgb.green, rgb.blue].map(|v| v.clamp(0.002, 1.0))
}

/// Reflectance of the bare sheet, linear, shape `[height, width]`.
#[must_use]
pub fn lay(recipe: &PaperRecipe, size_px: [usize; 2], px_per_mm: f64, key: u64) -> Rgb {
    let rgb = linear_from_lab(recipe.lab);
    let relief = relief(recipe, size_px, px_per_mm, key);
    let stain = foxing(recipe, size_px, px_per_mm, key);
    // A fox mark takes most from blue.
    let stain_depth = [0.25, 0.55, 0.9];
    [0, 1, 2].map(|channel| {
        let mut plane = relief.clone();
        let (base, depth) = (rgb[channel] as f32, stain_depth[channel]);
        plane.zip_mut_with(&stain, |v, &s| {
            *v = (base * (1.0 + *v) * (1.0 - depth * s)).clamp(0.0, 1.0);
        });
        plane
    })
}

/// Relative modulation of reflectance by everything that is neutral.
fn relief(recipe: &PaperRecipe, size_px: [usize; 2], px_per_mm: f64, key: u64) -> Plane {
    let fine = texture::field(key ^ 1, size_px, 0.018 * px_per_mm);
    let fibre = fibres(size_px, px_per_mm, key ^ 2);
    let cloud = texture::field(key ^ 3, size_px, 1.3 * px_per_mm);
    let speck = texture::field(key ^ 4, size_px, 0.05 * px_per_mm);
    let speck_level = speck_threshold(recipe.specks_per_mm2);
    let mut out = fine;
    let (fibre_depth, cloud_depth) = (recipe.fibre as f32, recipe.cloud as f32);
    let w = size_px[0].max(1);
    let (Some(cells), Some(fibre), Some(cloud), Some(speck)) = (
        out.as_slice_mut(),
        fibre.as_slice(),
        cloud.as_slice(),
        speck.as_slice(),
    ) else {
        return out;
    };
    let ribs = Ribs::of(recipe, px_per_mm);
    cells.par_chunks_mut(w).enumerate().for_each(|(y, row)| {
        for (x, cell) in row.iter_mut().enumerate() {
            let i = y * w + x;
            let texture = fibre_depth * (0.6 * *cell + 0.8 * fibre[i]) + cloud_depth * cloud[i];
            let dark = 0.5 * (speck[i] - speck_level).clamp(0.0, 1.0);
            *cell = texture + ribs.at(x as f32, y as f32) - dark;
        }
    });
    out
}

/// Two sets of streaks at right angles stand in for fibres that lie in the sheet.
fn fibres(size_px: [usize; 2], px_per_mm: f64, key: u64) -> Plane {
    let (thin, long) = (0.03 * px_per_mm, 0.5 * px_per_mm);
    let mut along = texture::field_stretched(key, size_px, [long, thin]);
    let across = texture::field_stretched(key ^ 0xF1, size_px, [thin, long]);
    along.zip_mut_with(&across, |a, &b| {
        *a = (*a + b) * std::f32::consts::FRAC_1_SQRT_2
    });
    along
}

/// The level that smooth noise of 0.05 mm grain exceeds at about the given rate.
fn speck_threshold(specks_per_mm2: f64) -> f32 {
    // About 400 grains a mm², each exceeding z with the normal tail probability, which
    // exp(−z²/2)/4 follows within a factor of 1.5 for z in 2–3.5.
    let share = (specks_per_mm2 / 400.0).clamp(1e-9, 0.2);
    (-2.0 * (4.0 * share).ln()).max(0.0).sqrt() as f32
}

fn foxing(recipe: &PaperRecipe, size_px: [usize; 2], px_per_mm: f64, key: u64) -> Plane {
    let mut stain = Plane::zeros((size_px[1], size_px[0]));
    let area_cm2 = (size_px[0] * size_px[1]) as f64 / (px_per_mm * px_per_mm) / 100.0;
    let count = (recipe.foxing_per_cm2 * area_cm2).round() as u64;
    for i in 0..count.min(2000) {
        let draw = |n: u64| f64::from(texture::uniform(key ^ 0xF0, i, n));
        let centre = [draw(0) * size_px[0] as f64, draw(1) * size_px[1] as f64];
        let radius = px_per_mm * (0.15 + 0.9 * draw(2).powi(2));
        add_stain(&mut stain, centre, radius, 0.1 + 0.3 * draw(3));
    }
    stain
}

fn add_stain(stain: &mut Plane, centre: [f64; 2], radius_px: f64, depth: f64) {
    let (h, w) = stain.dim();
    let reach = 2.5 * radius_px;
    let clip = |v: f64, top: usize| v.clamp(0.0, top as f64) as usize;
    for y in clip(centre[1] - reach, h)..clip(centre[1] + reach, h) {
        for x in clip(centre[0] - reach, w)..clip(centre[0] + reach, w) {
            let d2 = (x as f64 - centre[0]).powi(2) + (y as f64 - centre[1]).powi(2);
            let add = depth * (-d2 / (radius_px * radius_px)).exp();
            stain[[y, x]] = (stain[[y, x]] + add as f32).min(0.7);
        }
    }
}

/// Periodic marks of the mould as sums of cosines of a phase that is linear in position.
struct Ribs {
    waves: Vec<[f32; 3]>,
    chain: Option<[f32; 3]>,
}

impl Ribs {
    fn of(recipe: &PaperRecipe, px_per_mm: f64) -> Self {
        let wave = |per_mm: f64, angle_deg: f64, depth: f64| {
            let k = std::f64::consts::TAU * per_mm / px_per_mm;
            let (sin, cos) = angle_deg.to_radians().sin_cos();
            [(k * cos) as f32, (-k * sin) as f32, depth as f32]
        };
        let mut waves = Vec::new();
        let mut chain = None;
        if let Some(laid) = recipe.laid {
            waves.push(wave(laid.wires_per_mm, laid.angle_deg + 90.0, laid.depth));
            chain = Some(wave(1.0 / laid.chain_mm, laid.angle_deg, 1.5 * laid.depth));
        }
        if let Some(mesh) = recipe.mesh {
            waves.push(wave(mesh.threads_per_mm[0], mesh.angle_deg, mesh.depth));
            waves.push(wave(
                mesh.threads_per_mm[1],
                mesh.angle_deg + 90.0,
                mesh.depth,
            ));
        }
        Self { waves, chain }
    }

    fn at(&self, x: f32, y: f32) -> f32 {
        let waves: f32 = self
            .waves
            .iter()
            .map(|w| w[2] * (w[0] * x + w[1] * y).cos())
            .sum();
        // A chain is a narrow line, so a high power of the cosine.
        let chain = self.chain.map_or(0.0, |w| {
            let c = (0.5 * (w[0] * x + w[1] * y)).cos();
            w[2] * (c * c).powi(200)
        });
        waves + chain
    }
}
