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
    let printed = inked(key.cover, drawing, has(ColourTruth::ColouredInk), rng);
    let marks = patches::marks_of(&printed.cover, drawing.px_per_mm);
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

/// Least cover that uneven inking leaves of a full mark: well above the half that makes a mark.
const LEAST_INKING: f32 = 0.75;

/// Slow unevenness of the inking over the sheet.
fn uneven(cover: &mut Plane, px_per_mm: f64, rng: &mut ChaCha8Rng) {
    let depth = (1.0 - LEAST_INKING) * rng.random_range(0.0..1.0_f32).powi(2);
    let patch_px = (rng.random_range(0.4..4.0) * px_per_mm) as f32;
    let noise = super::noise::Noise::new(rng);
    Zip::indexed(cover).par_for_each(|(y, x), a| {
        let thin = 0.5 + 0.5 * noise.rough(x as f32 / patch_px, y as f32 / patch_px);
        *a *= 1.0 - depth * thin;
    });
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::specimen::sheet::LayerKind;
    use rand::SeedableRng;

    const HAND_MADE: [Origin; 4] = [
        Origin::StippleEngraving,
        Origin::LineEngraving,
        Origin::Lithograph,
        Origin::TintedLithograph,
    ];

    fn request(size_px: [usize; 2]) -> SheetRequest {
        SheetRequest {
            px_per_mm: 40.0,
            size_px,
            colouring: None,
            other: None,
        }
    }

    fn drawn(origin: Origin, request: &SheetRequest, seed: u64) -> Sheet {
        draw(origin, request, &mut ChaCha8Rng::seed_from_u64(seed))
    }

    fn bytes(sheet: &Sheet) -> Vec<u32> {
        let light = sheet.reflectance_over([0.9, 0.8, 0.7]);
        light.iter().flatten().map(|v| v.to_bits()).collect()
    }

    #[test]
    fn the_seed_decides_every_byte() {
        for origin in HAND_MADE
            .into_iter()
            .chain([Origin::Halftone, Origin::Other])
        {
            let wanted = request([150, 110]);
            let (a, b) = (drawn(origin, &wanted, 3), drawn(origin, &wanted, 3));
            assert_eq!(bytes(&a), bytes(&b), "{origin:?}");
            assert_eq!(a.truth, b.truth);
            assert_ne!(bytes(&a), bytes(&drawn(origin, &wanted, 4)), "{origin:?}");
        }
    }

    #[test]
    fn one_thread_draws_what_many_draw() {
        let wanted = request([210, 170]);
        let pool = |threads| {
            let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build();
            let sheet = |origin| bytes(&drawn(origin, &wanted, 12));
            pool.map(|pool| pool.install(|| HAND_MADE.map(sheet))).ok()
        };
        assert!(pool(1).is_some());
        assert_eq!(pool(1), pool(3));
    }

    #[test]
    fn marks_truth_is_that_of_the_printed_key() {
        for (i, origin) in HAND_MADE.into_iter().enumerate() {
            let sheet = drawn(origin, &request([260, 190]), 20 + i as u64);
            let cover = &sheet.key().expect("a key was printed").cover;
            let printed = cover.iter().filter(|&&a| a >= 0.5).count() as f64;
            let marks = sheet.truth.marks.as_ref().expect("marks are known");
            assert!((marks.coverage - printed / cover.len() as f64).abs() < 1e-12);
            assert_eq!(marks, &patches::marks_of(cover, 40.0));
            assert!(marks.count > 5, "{origin:?}: {marks:?}");
        }
    }

    #[test]
    fn the_colouring_asked_for_is_what_lies_on_the_sheet() {
        let mut wanted = request([200, 160]);
        wanted.colouring = Some(vec![ColourTruth::HandWash, ColourTruth::ColouredInk]);
        for seed in 0..6 {
            let sheet = drawn(Origin::TintedLithograph, &wanted, seed);
            let expected = [
                ColourTruth::HandWash,
                ColourTruth::ColouredInk,
                ColourTruth::PrintedTint,
            ];
            assert_eq!(sheet.truth.colouring, expected);
            assert!(sheet.truth.tint.is_some());
            assert!(sheet.layers.iter().any(|l| l.kind == LayerKind::Film));
        }
        wanted.colouring = Some(Vec::new());
        let sheet = drawn(Origin::LineEngraving, &wanted, 9);
        assert_eq!(sheet.truth.colouring, [ColourTruth::None]);
        let density = sheet.layers[0].solid_density.map(|d| 10.0_f64.powf(-d));
        let [_, a, b] = inks::lab_of_linear(density);
        assert!(sheet.layers.len() == 1 && a.hypot(b) < inks::NEAR_BLACK_CHROMA);
    }

    #[test]
    fn the_tint_truth_is_the_colour_that_lies_on_white() {
        for seed in 0..8 {
            let mut wanted = request([240, 180]);
            wanted.colouring = Some(Vec::new());
            let sheet = drawn(Origin::TintedLithograph, &wanted, seed);
            let (lab, share) = sheet.truth.tint.expect("a tint was printed");
            let tint = Sheet {
                layers: vec![sheet.layers[0].clone()],
                ..sheet.clone()
            };
            let light = tint.reflectance_over([1.0; 3]);
            let tinted: Vec<_> = (0..240 * 180)
                .map(|i| [i / 240, i % 240])
                .filter(|&p| sheet.layers[0].cover[p] >= 0.5)
                .collect();
            let mean = |c: usize| {
                tinted.iter().map(|&p| f64::from(light[c][p])).sum::<f64>() / tinted.len() as f64
            };
            let seen = inks::lab_of_linear([mean(0), mean(1), mean(2)]);
            assert!(inks::difference(seen, lab) < 0.2, "{seen:?} {lab:?}");
            assert!((share - tinted.len() as f64 / (240.0 * 180.0)).abs() < 1e-9);
            assert!((3.0..31.0).contains(&inks::difference([100.0, 0.0, 0.0], lab)));
        }
    }

    #[test]
    fn odd_sizes_give_sheets_of_that_size() {
        for size_px in [[1, 1], [1, 300], [300, 1], [0, 0], [0, 7], [23, 17]] {
            for origin in HAND_MADE.into_iter().chain([Origin::Halftone]) {
                assert_shape(&drawn(origin, &request(size_px), 5), size_px);
            }
            for kind in LookAlike::ALL {
                let mut wanted = request(size_px);
                wanted.other = Some(kind);
                let sheet = drawn(Origin::Other, &wanted, 5);
                assert_shape(&sheet, size_px);
                assert_eq!(sheet.truth.other.as_deref(), Some(kind.name()));
            }
        }
    }

    fn assert_shape(sheet: &Sheet, [w, h]: [usize; 2]) {
        assert_eq!(sheet.size_px, [w, h]);
        for layer in &sheet.layers {
            assert_eq!(layer.cover.dim(), (h, w));
            assert!(layer.cover.iter().all(|a| a.is_finite() && *a >= 0.0));
        }
    }
}
