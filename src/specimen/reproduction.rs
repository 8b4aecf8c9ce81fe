//! A screened reproduction of an old print or of a modern picture.

use super::block::LookAlike;
use super::blur;
use super::draw::{SheetRequest, draw};
use super::paper::{self, PaperRecipe};
use super::screen::{self, Family, Frame, Original};
use super::series::{FIVE, SeriesRequest};
use super::sheet::{Origin, Sheet};
use crate::plane::Rgb;
use rand::RngExt;
use rand_chacha::ChaCha8Rng;

/// A sheet, the paper it lies on, and how it came about.
pub(super) struct Drawn {
    /// The sheet.
    pub sheet: Sheet,
    /// Its paper.
    pub paper: PaperRecipe,
    /// Process of the old print that it reproduces.
    pub reproduces: Option<Origin>,
    /// How it was reproduced.
    pub screen: Option<screen::Recipe>,
    /// Size over that of the original.
    pub reduction: Option<f64>,
}

impl Drawn {
    /// Printed by hand.
    pub fn plain(sheet: Sheet, paper: PaperRecipe) -> Self {
        Self {
            sheet,
            paper,
            reproduces: None,
            screen: None,
            reduction: None,
        }
    }
}

/// A reproduction as the request has it.
pub(super) fn reproduction(request: &SeriesRequest, frame: Frame, rng: &mut ChaCha8Rng) -> Drawn {
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
    // About as fine as the sheet, within what marks need to look right and what a scan would keep.
    let on_original = (0.8 * frame.px_per_mm * reduction).clamp(14.0, 40.0);
    let px_per_mm = on_original / reduction;
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
