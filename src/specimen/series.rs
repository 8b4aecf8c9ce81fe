//! Seeded series of photographs over the nuisances of real ones.
//!
//! Same seed and same request, same bytes. Two families of seeds never meet: what is learnt from
//! [`SeedFamily::Training`] is scored on [`SeedFamily::Scoring`].

use super::block::LookAlike;
use super::blur;
use super::camera::{self, CameraRecipe, Hardness, SHEET_OVER_PHOTO};
use super::draw::{SheetRequest, draw};
use super::light;
use super::paper::{self, PaperRecipe};
use super::periodic::Periodic;
use super::screen::{self, Family, Frame, Original};
use super::sheet::{ColourTruth, Origin, Sheet};
use super::truth::{Nuisance, SpecimenTruth, VisibleField};
use crate::plane::Rgb;
use image::{ImageResult, RgbImage};
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use rayon::prelude::*;
use serde::{Deserialize, Serialize};

/// Disjoint ranges of seeds.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum SeedFamily {
    /// To fit reference distributions.
    Training,
    /// To report how well they do.
    Scoring,
}

impl SeedFamily {
    /// Seeds in each family.
    pub const SIZE: u64 = 1 << 40;

    /// The seed of the family's member `index` (reckoned modulo [`Self::SIZE`]).
    #[must_use]
    pub fn seed(self, index: u64) -> u64 {
        let base = match self {
            Self::Training => Self::SIZE,
            Self::Scoring => 2 * Self::SIZE,
        };
        base + index % Self::SIZE
    }
}

/// What is fixed of a specimen; all that is `None` is left to chance.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct SeriesRequest {
    /// Process; by default the five take turns with the seed.
    pub origin: Option<Origin>,
    /// With no process given: whether look-alikes outside the five take a sixth turn.
    pub with_others: bool,
    /// Colouring of hand-made prints.
    pub colouring: Option<Vec<ColourTruth>>,
    /// Family of reproduction.
    pub family: Option<Family>,
    /// Whether a reproduction shows an old print; by default half of them do.
    pub reproduces_old: Option<bool>,
    /// Look-alike for [`Origin::Other`].
    pub look_alike: Option<LookAlike>,
    /// Periodic look-alike; overrides everything else.
    pub periodic: Option<Periodic>,
    /// Range of scale, px per mm.
    pub px_per_mm: Option<[f64; 2]>,
    /// Width and height, px.
    pub size_px: Option<[usize; 2]>,
    /// How kind the photo is.
    pub hardness: Option<Hardness>,
}

/// A photograph with its truth.
#[derive(Clone, Debug)]
pub struct Specimen {
    /// The photo as the camera stores it, before compression.
    pub photo: RgbImage,
    /// Truth.
    pub truth: SpecimenTruth,
}

impl Specimen {
    /// Bytes of the file (JPEG or PNG).
    ///
    /// # Errors
    /// Whatever the encoder reports.
    pub fn encode(&self) -> ImageResult<Vec<u8>> {
        self.truth.nuisance.camera.file.encode(&self.photo)
    }

    /// A file name without folder: process, seed, ending.
    #[must_use]
    pub fn file_name(&self) -> String {
        let origin = serde_json::to_value(self.truth.origin)
            .ok()
            .and_then(|v| v.as_str().map(str::to_owned))
            .unwrap_or_default();
        let ending = self.truth.nuisance.camera.file.extension();
        format!("{origin}-{:x}.{ending}", self.truth.seed)
    }
}

/// The five processes in the order in which they take turns.
pub const FIVE: [Origin; 5] = [
    Origin::StippleEngraving,
    Origin::LineEngraving,
    Origin::Lithograph,
    Origin::TintedLithograph,
    Origin::Halftone,
];

/// Specimens `from..from + count` of a family, in order, drawn in parallel.
#[must_use]
pub fn series(family: SeedFamily, from: u64, count: u64, request: &SeriesRequest) -> Vec<Specimen> {
    (from..from.saturating_add(count))
        .into_par_iter()
        .map(|index| specimen(family.seed(index), request))
        .collect()
}

/// Draws one specimen.
#[must_use]
pub fn specimen(seed: u64, request: &SeriesRequest) -> Specimen {
    let mut rng = ChaCha8Rng::seed_from_u64(seed);
    let mut camera = any_camera(request, &mut rng);
    if let Some(periodic) = request.periodic {
        periodic.spoil(&mut camera, &mut rng);
    }
    let frame = frame_for(&camera);
    let drawn = match (request.periodic, origin_of(seed, request)) {
        (Some(periodic), _) => Drawn::plain(
            periodic.sheet(frame.px_per_mm, frame.size_px, &mut rng),
            periodic.paper(&mut rng),
        ),
        (None, Origin::Halftone) => reproduction(request, frame, &mut rng),
        (None, origin) => by_hand(origin, request, frame, &mut rng),
    };
    let key = rng.random();
    let photo = photographed(&drawn, &camera, key);
    let truth = truth_of(seed, &drawn, &camera);
    Specimen { photo, truth }
}

/// Process whose turn it is.
fn origin_of(seed: u64, request: &SeriesRequest) -> Origin {
    request.origin.unwrap_or_else(|| {
        let turns = if request.with_others { 6 } else { 5 };
        FIVE.get((seed % turns) as usize)
            .copied()
            .unwrap_or(Origin::Other)
    })
}

/// A sheet, the paper it lies on, and how it came about.
struct Drawn {
    sheet: Sheet,
    paper: PaperRecipe,
    reproduces: Option<Origin>,
    screen: Option<screen::Recipe>,
    reduction: Option<f64>,
}

impl Drawn {
    fn plain(sheet: Sheet, paper: PaperRecipe) -> Self {
        Self {
            sheet,
            paper,
            reproduces: None,
            screen: None,
            reduction: None,
        }
    }
}

fn any_camera(request: &SeriesRequest, rng: &mut ChaCha8Rng) -> CameraRecipe {
    let hardness = request
        .hardness
        .unwrap_or_else(|| match rng.random_range(0..10) {
            0..3 => Hardness::Easy,
            3..8 => Hardness::Usual,
            _ => Hardness::Hard,
        });
    let size_px = request.size_px.unwrap_or_else(|| {
        [
            [1000, 800],
            [1200, 900],
            [1100, 1100],
            [900, 1200],
            [1280, 960],
            [1400, 1050],
        ][rng.random_range(0..6)]
    });
    let [lo, hi] = request.px_per_mm.unwrap_or_else(|| {
        // Now and then a flat-bed scan instead of a loupe.
        if rng.random_bool(0.08) {
            [8.0, 20.0]
        } else {
            [20.0, 250.0]
        }
    });
    let (lo, hi) = (lo.max(1.0), hi.max(lo.max(1.0)));
    let px_per_mm = rng.random_range(lo.ln()..=hi.ln()).exp();
    CameraRecipe::any(size_px, px_per_mm, hardness, rng)
}

/// The sheet's raster: finer than the photo's, and fine enough to draw marks.
fn frame_for(camera: &CameraRecipe) -> Frame {
    /// Marks and dots look right from about here.
    const LEAST_PX_PER_MM: f64 = 24.0;
    let px_per_mm = (SHEET_OVER_PHOTO * camera.px_per_mm).max(LEAST_PX_PER_MM);
    Frame {
        px_per_mm,
        size_px: camera
            .sheet_mm()
            .map(|mm| (mm * px_per_mm).ceil() as usize + 2),
    }
}

fn by_hand(origin: Origin, request: &SeriesRequest, frame: Frame, rng: &mut ChaCha8Rng) -> Drawn {
    let sheet = draw(
        origin,
        &SheetRequest {
            px_per_mm: frame.px_per_mm,
            size_px: frame.size_px,
            colouring: request.colouring.clone(),
            other: request.look_alike,
        },
        rng,
    );
    Drawn::plain(sheet, PaperRecipe::old(rng))
}

fn reproduction(request: &SeriesRequest, frame: Frame, rng: &mut ChaCha8Rng) -> Drawn {
    let family = request
        .family
        .unwrap_or_else(|| Family::ALL[rng.random_range(0..Family::ALL.len())]);
    let old = request
        .reproduces_old
        .unwrap_or_else(|| rng.random_bool(0.5));
    let origin = if old {
        Some(FIVE[rng.random_range(0..4)])
    } else {
        None
    };
    let reduction = rng.random_range(0.4..1.1);
    let original = original(origin, family, reduction, frame, rng);
    let recipe = family.recipe(rng);
    let sheet = screen::reproduce(&original, &recipe, frame, rng.random());
    Drawn {
        sheet,
        paper: PaperRecipe::modern(rng),
        reproduces: origin,
        screen: Some(recipe),
        reduction: Some(reduction),
    }
}

/// An old print (or a modern scene), scanned for reproduction.
fn original(
    origin: Option<Origin>,
    family: Family,
    reduction: f64,
    frame: Frame,
    rng: &mut ChaCha8Rng,
) -> Original {
    let on_original = rng.random_range(22.0..40.0);
    let px_per_mm: f64 = on_original / reduction;
    let size_px = frame
        .size_px
        .map(|n| ((n as f64 / frame.px_per_mm + 0.5) * px_per_mm).ceil() as usize + 2);
    let request = SheetRequest {
        px_per_mm: on_original,
        size_px,
        colouring: None,
        other: Some(LookAlike::PhotographicScene),
    };
    let sheet = draw(origin.unwrap_or(Origin::Other), &request, rng);
    let what = match origin {
        Some(origin) => words(origin).to_owned(),
        None => "modern picture".to_owned(),
    };
    let mut light = old_sheet_light(&sheet, origin.is_some(), family, rng);
    // The scanner's aperture: 200–800 px an inch.
    let scan_px_per_mm = rng.random_range(8.0..32.0);
    for plane in &mut light {
        *plane = blur::gaussian(plane, 0.4 * px_per_mm / scan_px_per_mm);
    }
    Original {
        light,
        px_per_mm,
        what,
    }
}

/// Light off the original: on its old paper, whose tone a black reproduction mostly clears away.
fn old_sheet_light(sheet: &Sheet, old: bool, family: Family, rng: &mut ChaCha8Rng) -> Rgb {
    let recipe = PaperRecipe::old(rng);
    if !old {
        return sheet.reflectance_over([1.0; 3]);
    }
    let mut ground = paper::lay(&recipe, sheet.size_px, sheet.px_per_mm, rng.random());
    if !family.in_colour() && rng.random_bool(0.7) {
        for (plane, tone) in ground.iter_mut().zip(paper::linear_from_lab(recipe.lab)) {
            plane.par_mapv_inplace(|v| (v / tone as f32 * 1.02).min(1.0));
        }
    }
    sheet.reflectance_over_paper(ground)
}

fn words(origin: Origin) -> &'static str {
    match origin {
        Origin::StippleEngraving => "stipple engraving",
        Origin::LineEngraving => "line engraving",
        Origin::Lithograph => "lithograph",
        Origin::TintedLithograph => "tinted lithograph",
        Origin::Halftone => "half-tone",
        Origin::Other => "picture",
    }
}

fn photographed(drawn: &Drawn, camera: &CameraRecipe, key: u64) -> RgbImage {
    let sheet = &drawn.sheet;
    let ground = paper::lay(&drawn.paper, sheet.size_px, sheet.px_per_mm, key);
    let exitance = light::exitance(sheet, &ground, &drawn.paper);
    camera::photograph(&exitance, sheet.px_per_mm, camera, key ^ 0xCA_3E_7A)
}

fn truth_of(seed: u64, drawn: &Drawn, camera: &CameraRecipe) -> SpecimenTruth {
    let field = VisibleField::of(camera);
    let sheet = &drawn.sheet;
    let known = &sheet.truth;
    SpecimenTruth {
        seed,
        origin: known.origin,
        other: known.other.clone(),
        reproduces: drawn.reproduces,
        family: drawn.screen.as_ref().map(|recipe| recipe.family),
        colouring: known.colouring.clone(),
        px_per_mm: field.px_per_mm(),
        px_per_mm_centre: camera.px_per_mm,
        size_px: camera.size_px,
        field: camera.field_truth(),
        area_mm2: field.area_mm2(),
        marks: known.marks.as_ref().and_then(|_| field.marks(sheet)),
        hatching: known.hatching.iter().map(|h| field.hatching(h)).collect(),
        screens: known.screens.iter().map(|s| field.screen(s)).collect(),
        stochastic: known.stochastic,
        grains_per_mm: known.grains_per_mm,
        tint: known.tint,
        paper_lab: drawn.paper.lab,
        nuisance: Nuisance {
            paper: drawn.paper.clone(),
            camera: camera.clone(),
            screen: drawn.screen.clone(),
            reduction: drawn.reduction,
        },
    }
}
