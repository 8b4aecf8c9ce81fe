//! From a request to a printed sheet of any hand-made process or look-alike.

use super::block::{self, LookAlike};
use super::colouring::{inks, poupee, wash};
use super::drawing::{Drawing, compose};
use super::patches;
use super::plate::{self, Key};
use super::sheet::{ColourTruth, Layer, Origin, Sheet, SheetTruth};
use super::stone::{self, tint};
use crate::plane::Plane;
use ndarray::Zip;
use rand::RngExt;
use rand_chacha::ChaCha8Rng;

/// What sheet is wanted.
#[derive(Clone, Debug)]
pub struct SheetRequest {
    /// Resolution, px per mm; sheets look right from about 20 to 250.
    pub px_per_mm: f64,
    /// Width and height, px.
    pub size_px: [usize; 2],
    /// Where the colour lies; `None` = at random, as common on such sheets. A tinted lithograph
    /// always has its tint; process colour belongs to screens and is left out here.
    pub colouring: Option<Vec<ColourTruth>>,
    /// Which look-alike for [`Origin::Other`]; `None` = at random.
    pub other: Option<LookAlike>,
}

/// Draws a sheet. Same request and same state of `rng`, same sheet.
///
/// [`Origin::Halftone`] gives an unscreened original as a process camera would meet it: a
/// hand-made print, a painting of washes or a photographic scene; its truth names the original's
/// own origin, and the screen that reproduces it writes its own truth.
#[must_use]
pub fn draw(origin: Origin, request: &SheetRequest, rng: &mut ChaCha8Rng) -> Sheet {
    match origin {
        Origin::Other => {
            let kind = request.other.unwrap_or_else(|| LookAlike::random(rng));
            block::draw(kind, request.px_per_mm, request.size_px, rng)
        }
        Origin::Halftone => original(request, rng),
        _ => printed(origin, request, rng),
    }
}

/// An original for reproduction.
fn original(request: &SheetRequest, rng: &mut ChaCha8Rng) -> Sheet {
    let by_hand = match rng.random_range(0..10) {
        0 => Some(Origin::StippleEngraving),
        1 | 2 => Some(Origin::LineEngraving),
        3 | 4 => Some(Origin::Lithograph),
        5 => Some(Origin::TintedLithograph),
        _ => None,
    };
    match by_hand {
        Some(origin) => printed(origin, request, rng),
        None => {
            let scene = LookAlike::PhotographicScene;
            block::draw(scene, request.px_per_mm, request.size_px, rng)
        }
    }
}

fn printed(origin: Origin, request: &SheetRequest, rng: &mut ChaCha8Rng) -> Sheet {
    let drawing = compose::random(request.px_per_mm, request.size_px, rng);
    let colouring = colouring_of(origin, request, rng);
    let key = match origin {
        Origin::StippleEngraving => plate::stippled(&drawing, rng),
        Origin::LineEngraving => plate::lined(&drawing, rng),
        _ => stone::crayoned(&drawing, rng),
    };
    assemble(origin, &drawing, key, colouring, rng)
}

/// The colouring asked for, or one as common on such sheets; sorted, never empty.
fn colouring_of(origin: Origin, request: &SheetRequest, rng: &mut ChaCha8Rng) -> Vec<ColourTruth> {
    let mut colouring = match &request.colouring {
        Some(asked) => asked.clone(),
        None => common_colouring(origin, rng),
    };
    colouring.retain(|c| !matches!(c, ColourTruth::None | ColourTruth::ProcessColour));
    if origin == Origin::TintedLithograph {
        colouring.push(ColourTruth::PrintedTint);
    }
    if colouring.is_empty() {
        colouring.push(ColourTruth::None);
    }
    colouring.sort_unstable();
    colouring.dedup();
    colouring
}

fn common_colouring(origin: Origin, rng: &mut ChaCha8Rng) -> Vec<ColourTruth> {
    let mut colouring = Vec::new();
    let [ink, wash] = match origin {
        Origin::StippleEngraving => [0.4, 0.35],
        Origin::LineEngraving => [0.2, 0.4],
        Origin::TintedLithograph => [0.08, 0.25],
        _ => [0.12, 0.4],
    };
    if rng.random_bool(ink) {
        colouring.push(ColourTruth::ColouredInk);
    }
    if rng.random_bool(wash) {
        colouring.push(ColourTruth::HandWash);
    }
    colouring
}

fn assemble(
    origin: Origin,
    drawing: &Drawing,
    key: Key,
    colouring: Vec<ColourTruth>,
    rng: &mut ChaCha8Rng,
) -> Sheet {
    let has = |colour| colouring.contains(&colour);
    let tint = has(ColourTruth::PrintedTint).then(|| tint::printed(drawing, rng));
    let marks = patches::marks_of(&key.cover, drawing.px_per_mm);
    let printed = inked(key.cover, drawing, has(ColourTruth::ColouredInk), rng);
    let mut layers = Vec::new();
    let tint_truth = tint.map(|tint| {
        layers.push(tint.layer);
        (tint.lab, tint.share)
    });
    layers.push(printed);
    if has(ColourTruth::HandWash) {
        layers.extend(wash::brushed(drawing, rng));
    }
    let (h, w) = drawing.shape();
    Sheet {
        px_per_mm: drawing.px_per_mm,
        size_px: [w, h],
        layers,
        truth: SheetTruth {
            origin,
            other: None,
            colouring,
            marks: Some(marks),
            hatching: key.hatching,
            screens: Vec::new(),
            stochastic: false,
            grains_per_mm: key.grains_per_mm,
            tint: tint_truth,
        },
    }
}

/// The key in ink: near-black, one colour, or colours that drift over the plate.
fn inked(mut cover: Plane, drawing: &Drawing, in_colour: bool, rng: &mut ChaCha8Rng) -> Layer {
    uneven(&mut cover, drawing.px_per_mm, rng);
    if !in_colour {
        return Layer::ink(cover, inks::density_of_lab(inks::near_black(rng)));
    }
    if rng.random_bool(0.5) {
        return Layer::ink(cover, inks::density_of_lab(inks::coloured(rng)));
    }
    let drift = poupee::drift(drawing, rng);
    let mean = |plane: &Plane| f64::from(plane.mean().unwrap_or(1.0));
    let solid_density = [mean(&drift[0]), mean(&drift[1]), mean(&drift[2])];
    Layer {
        drift: Some(drift),
        ..Layer::ink(cover, solid_density)
    }
}

/// Least cover that uneven inking leaves of a full mark: well above the half that makes a mark,
/// so that the truth of the marks holds.
const LEAST_INKING: f32 = 0.75;

/// Slow unevenness of the inking over the sheet.
fn uneven(cover: &mut Plane, px_per_mm: f64, rng: &mut ChaCha8Rng) {
    let depth = rng.random_range(0.0..1.0 - LEAST_INKING);
    let patch_px = (rng.random_range(0.4..4.0) * px_per_mm) as f32;
    let noise = super::noise::Noise::new(rng);
    Zip::indexed(cover).par_for_each(|(y, x), a| {
        let thin = 0.5 + 0.5 * noise.rough(x as f32 / patch_px, y as f32 / patch_px);
        *a *= 1.0 - depth * thin;
    });
}
