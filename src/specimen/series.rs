//! Seeded series of photographs over the nuisances of real ones.
//!
//! Same seed and same request, same bytes. Two families of seeds never meet: what is learnt from
//! [`SeedFamily::Training`] is scored on [`SeedFamily::Scoring`].

use super::block::LookAlike;
use super::camera::{self, CameraRecipe, Hardness, SHEET_OVER_PHOTO};
use super::draw::{SheetRequest, draw};
use super::light;
use super::paper::{self, PaperRecipe};
use super::periodic::Periodic;
use super::reproduction::{Drawn, reproduction};
use super::screen::{Family, Frame};
use super::sheet::{ColourTruth, Origin};
use super::truth::{Nuisance, SpecimenTruth, VisibleField};
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

    /// The index under which a seed stands in its family, whichever it is: the way back from [`Self::seed`].
    #[must_use]
    pub fn index(seed: u64) -> u64 {
        seed % Self::SIZE
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
    /// Width and height, px; by default about a megapixel, in several shapes.
    pub size_px: Option<[usize; 2]>,
    /// Where no size is given, the sides are so many times the usual ones; 1 by default.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub sides_times: Option<usize>,
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

    /// A file name without folder: process, index in its family as it was asked for, ending.
    #[must_use]
    pub fn file_name(&self) -> String {
        let origin = serde_json::to_value(self.truth.origin)
            .ok()
            .and_then(|v| v.as_str().map(str::to_owned))
            .unwrap_or_default();
        let ending = self.truth.nuisance.camera.file.extension();
        format!("{origin}-{}.{ending}", SeedFamily::index(self.truth.seed))
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
    let drawn = drawn_sheet(seed, request, frame_for(&camera), &mut rng);
    let key = rng.random();
    let photo = photographed(&drawn, &camera, key);
    let truth = truth_of(seed, &drawn, &camera);
    Specimen { photo, truth }
}

/// The sheet that a request asks for.
pub(super) fn drawn_sheet(
    seed: u64,
    request: &SeriesRequest,
    frame: Frame,
    rng: &mut ChaCha8Rng,
) -> Drawn {
    match (request.periodic, origin_of(seed, request)) {
        (Some(periodic), _) => Drawn::plain(
            periodic.sheet(frame.px_per_mm, frame.size_px, rng),
            periodic.paper(rng),
        ),
        (None, Origin::Halftone) => reproduction(request, frame, rng),
        (None, origin) => by_hand(origin, request, frame, rng),
    }
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

pub(super) fn any_camera(request: &SeriesRequest, rng: &mut ChaCha8Rng) -> CameraRecipe {
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
        .map(|side| side * request.sides_times.unwrap_or(1))
    });
    let [lo, hi] = request.px_per_mm.unwrap_or_else(|| {
        // Now and then a flat-bed scan instead of a loupe.
        if rng.random_bool(0.08) {
            [12.0, 20.0]
        } else {
            [20.0, 250.0]
        }
    });
    let (lo, hi) = (lo.max(1.0), hi.max(lo.max(1.0)));
    let px_per_mm = rng.random_range(lo.ln()..=hi.ln()).exp();
    CameraRecipe::any(size_px, px_per_mm, hardness, rng)
}

/// The sheet's raster: finer than the photo's, and fine enough to draw marks.
pub(super) fn frame_for(camera: &CameraRecipe) -> Frame {
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plane::Plane;
    use crate::specimen::spectrum::peak_near;

    fn small() -> SeriesRequest {
        SeriesRequest {
            size_px: Some([220, 170]),
            px_per_mm: Some([30.0, 60.0]),
            ..SeriesRequest::default()
        }
    }

    #[test]
    fn a_seed_gives_the_same_file_and_the_same_truth() {
        let seed = SeedFamily::Scoring.seed(4);
        let (a, b) = (specimen(seed, &small()), specimen(seed, &small()));
        assert_eq!(a.encode().expect("encodes"), b.encode().expect("encodes"));
        assert_eq!(a.truth, b.truth);
        let c = specimen(SeedFamily::Training.seed(4), &small());
        assert_ne!(a.photo, c.photo);
    }

    #[test]
    fn larger_photographs_are_of_the_same_shape() {
        let size = |sides_times| {
            let request = SeriesRequest {
                sides_times,
                ..SeriesRequest::default()
            };
            any_camera(&request, &mut ChaCha8Rng::seed_from_u64(3)).size_px
        };
        assert_eq!(size(Some(2)), size(None).map(|side| 2 * side));
        assert_eq!(size(Some(1)), size(None));
    }

    #[test]
    fn a_file_is_named_after_the_number_that_was_asked_for() {
        for family in [SeedFamily::Training, SeedFamily::Scoring] {
            let name = specimen(family.seed(100), &small()).file_name();
            let (stem, _) = name.rsplit_once('.').expect("an ending");
            assert!(stem.ends_with("-100"), "{name}");
        }
    }

    #[test]
    fn a_series_is_its_specimens_in_order_and_takes_turns() {
        let all = series(SeedFamily::Training, 3, 5, &small());
        let alone = specimen(SeedFamily::Training.seed(5), &small());
        assert_eq!(all[2].photo, alone.photo);
        let mut origins: Vec<Origin> = all.iter().map(|s| s.truth.origin).collect();
        origins.sort_unstable();
        assert_eq!(origins, FIVE);
    }

    #[test]
    fn truth_survives_json() {
        let truth = specimen(SeedFamily::Scoring.seed(1), &small()).truth;
        let json = serde_json::to_string(&truth).expect("serialises");
        let back: SpecimenTruth = serde_json::from_str(&json).expect("parses");
        assert_eq!(back.origin, truth.origin);
        assert_eq!(back.nuisance.camera.size_px, truth.nuisance.camera.size_px);
    }

    #[test]
    fn the_photo_shows_the_screen_where_the_truth_says() {
        let request = SeriesRequest {
            origin: Some(Origin::Halftone),
            family: Some(Family::OffsetBlack),
            reproduces_old: Some(false),
            hardness: Some(Hardness::Easy),
            size_px: Some([320, 260]),
            px_per_mm: Some([60.0, 70.0]),
            ..SeriesRequest::default()
        };
        let mut checked = 0;
        for index in 0..4 {
            let specimen = specimen(SeedFamily::Scoring.seed(index), &request);
            let screen = &specimen.truth.screens[0];
            if !screen.resolvable || specimen.truth.field.is_some() {
                continue;
            }
            let green = Plane::from_shape_fn((260, 320), |(y, x)| {
                f32::from(specimen.photo.get_pixel(x as u32, y as u32)[1])
            });
            let truth = screen.vectors_per_px[0];
            let found = peak_near(&green, truth, 2.5e-3);
            let miss = (found[0] - truth[0]).hypot(found[1] - truth[1]) * screen.period_px;
            // The window weighs the middle, the truth the whole field; distortions differ by less.
            assert!(miss < 0.01, "{found:?} for {truth:?}");
            checked += 1;
        }
        assert!(
            checked > 0,
            "no seed gave a resolvable screen in a full frame"
        );
    }

    #[test]
    fn periodic_look_alikes_have_no_screen() {
        for periodic in Periodic::ALL {
            let request = SeriesRequest {
                periodic: Some(periodic),
                ..small()
            };
            let truth = specimen(SeedFamily::Scoring.seed(2), &request).truth;
            assert!(truth.screens.is_empty() && !truth.stochastic);
            assert_ne!(truth.origin, Origin::Halftone);
        }
    }
}
