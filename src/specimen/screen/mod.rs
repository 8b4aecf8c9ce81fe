//! Screening: any original → ink on paper by clustered dots, stochastic spots or ink drops.
//!
//! - [`separation`]: linear light → tone values per ink, with grey component replacement.
//! - [`solids`]: densities of the process inks.
//! - [`tone`]: wanted areas on any grid, and bitmaps back on the sheet.
//! - [`spot`]: dot shapes as threshold tables of one cell.
//! - [`clustered`]: amplitude-modulated screens, process-camera or on a device raster.
//! - [`stochastic`]: blue- and green-noise bitmaps.
//! - [`inkjet`]: drops of several sizes, scattered.
//! - [`press`]: ink spread, gain, rough edges, mottle, raised rims.
//! - [`recipe`]: recipes drawn by chance for each family of process; `rulings` has their screens.

pub mod clustered;
pub mod inkjet;
pub mod press;
pub mod recipe;
mod rulings;
pub mod separation;
pub mod solids;
pub mod spot;
pub mod stochastic;
pub mod tone;

use super::sheet::{ColourTruth, Layer, Origin, ScreenTruth, Sheet, SheetTruth};
use crate::ink::Ink;
use crate::plane::{Plane, Rgb};
use serde::{Deserialize, Serialize};

pub use press::PressRecipe;
pub use recipe::Family;
pub use separation::SeparationRecipe;
pub use tone::{Tone, area_mean};

/// What is reproduced, at the size of the reproduction.
#[derive(Clone, Debug)]
pub struct Original {
    /// Linear reflectance.
    pub light: Rgb,
    /// Resolution at the size of the reproduction, px per mm.
    pub px_per_mm: f64,
    /// In words ("stipple engraving", "photograph-like scene").
    pub what: String,
}

/// How tone becomes spots.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Screening {
    /// Dots or lines on a lattice; one screen an ink, in the order of [`Recipe::inks`].
    Clustered(Vec<clustered::Screen>),
    /// Equal spots without a lattice.
    Stochastic(stochastic::SpotRecipe),
    /// Ink drops.
    Inkjet(inkjet::DropRecipe),
}

/// One printing ink.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct PrintInk {
    /// Which.
    pub ink: Ink,
    /// Optical density of the solid per channel, over paper.
    pub solid_density: [f64; 3],
    /// A light version of the ink, for the lighter half of the tone scale.
    pub light: bool,
}

/// All that is needed to reproduce an original.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Recipe {
    /// The family that it was drawn from.
    pub family: Family,
    /// Inks in the order of printing.
    pub inks: Vec<PrintInk>,
    /// From colour to ink.
    pub separation: SeparationRecipe,
    /// From tone to spots.
    pub screening: Screening,
    /// From spots to ink on paper.
    pub press: PressRecipe,
    /// Shift of each ink's image, mm; same length as `inks`.
    pub misregister_mm: Vec<[f64; 2]>,
}

/// Resolution and size of the sheet to be drawn.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Frame {
    /// px per mm.
    pub px_per_mm: f64,
    /// Width and height, px.
    pub size_px: [usize; 2],
}

/// Prints `original` by `recipe`. The middle of the original lies in the middle of the sheet; where
/// the sheet is larger, the original's edge is continued.
#[must_use]
pub fn reproduce(original: &Original, recipe: &Recipe, frame: Frame, key: u64) -> Sheet {
    let tones = separation::tones(&original.light, &recipe.inks, &recipe.separation);
    let mut layers = Vec::with_capacity(recipe.inks.len());
    let mut screens = Vec::new();
    for (i, (ink, tone)) in recipe.inks.iter().zip(tones).enumerate() {
        let shift_mm = recipe.misregister_mm.get(i).copied().unwrap_or([0.0; 2]);
        let tone = Tone {
            plane: tone,
            px_per_mm: original.px_per_mm,
            shift_mm,
        };
        let ink_key = key ^ ((i as u64 + 1) << 32);
        let spots = spots(&recipe.screening, i, &tone, frame, ink_key);
        let cover = press::transfer(spots, frame, &recipe.press, ink_key);
        if let Screening::Clustered(all) = &recipe.screening
            && let Some(screen) = all.get(i)
        {
            screens.push(truth_of(ink.ink, screen, &cover));
        }
        layers.push(Layer::ink(cover, ink.solid_density));
    }
    Sheet {
        px_per_mm: frame.px_per_mm,
        size_px: frame.size_px,
        layers,
        truth: sheet_truth(original, recipe, screens),
    }
}

fn spots(screening: &Screening, ink: usize, tone: &Tone, frame: Frame, key: u64) -> Plane {
    match screening {
        Screening::Clustered(screens) => match screens.get(ink) {
            Some(screen) => clustered::draw(tone, screen, frame),
            None => tone.at_frame(frame),
        },
        Screening::Stochastic(recipe) => stochastic::draw(tone, recipe, frame, key),
        Screening::Inkjet(recipe) => inkjet::draw(tone, recipe, frame, key),
    }
}

fn truth_of(ink: Ink, screen: &clustered::Screen, cover: &Plane) -> ScreenTruth {
    ScreenTruth {
        ink,
        ruling_lpi: screen.ruling_lpi(),
        angle_deg: screen.angle_deg(),
        area: mean(cover),
        vectors_per_mm: screen.vectors_per_mm.clone(),
    }
}

fn mean(plane: &Plane) -> f64 {
    plane.iter().map(|&v| f64::from(v)).sum::<f64>() / plane.len().max(1) as f64
}

fn sheet_truth(original: &Original, recipe: &Recipe, screens: Vec<ScreenTruth>) -> SheetTruth {
    let process = recipe.inks.iter().any(|ink| ink.ink == Ink::C);
    let colouring = if process {
        ColourTruth::ProcessColour
    } else {
        ColourTruth::None
    };
    SheetTruth {
        origin: Origin::Halftone,
        other: Some(format!("{} of a {}", recipe.family.words(), original.what)),
        colouring: vec![colouring],
        marks: None,
        hatching: Vec::new(),
        screens,
        stochastic: !matches!(recipe.screening, Screening::Clustered(_)),
        grains_per_mm: None,
        tint: None,
    }
}

#[cfg(test)]
mod tests {
    use super::stochastic::{Placement, SpotRecipe};
    use super::*;

    const FRAME: Frame = Frame {
        px_per_mm: 52.0,
        size_px: [211, 157],
    };

    fn flat(area: f32) -> Tone {
        Tone {
            plane: Plane::from_elem((5, 8), area),
            px_per_mm: 1.5,
            shift_mm: [0.01, -0.02],
        }
    }

    #[test]
    fn stochastic_screens_print_the_wanted_area_and_leave_paper_bare() {
        let placements = [
            Placement::Mask,
            Placement::Diffused { noise: 0.2 },
            Placement::Clustered { hysteresis: 0.5 },
        ];
        for placement in placements {
            let recipe = SpotRecipe {
                spot_um: 23.0,
                placement,
            };
            for area in [0.0, 0.12, 0.5, 0.9] {
                let drawn = stochastic::draw(&flat(area), &recipe, FRAME, 5);
                assert!(
                    (mean(&drawn) - f64::from(area)).abs() < 0.03,
                    "{placement:?} {area}"
                );
            }
        }
    }

    #[test]
    fn ink_drops_cover_about_the_wanted_area() {
        let recipe = inkjet::DropRecipe {
            dpi: [720.0, 360.0],
            drop_um: vec![35.0, 50.0, 90.0],
            placement: Placement::Diffused { noise: 0.1 },
            scatter_um: 5.0,
            weave_um: 2.0,
            nozzles: 16,
            satellites: 0.0,
        };
        for area in [0.0, 0.2, 0.6] {
            let drawn = inkjet::draw(&flat(area), &recipe, FRAME, 9);
            assert!(
                (mean(&drawn) - f64::from(area)).abs() < 0.05,
                "{area}: {}",
                mean(&drawn)
            );
        }
    }

    #[test]
    fn area_means_keep_the_mean_and_the_place() {
        // One bitmap pixel of 0.1 mm, off-centre, seen at 52 px/mm.
        let mut bitmap = Plane::zeros((33, 45));
        bitmap[[20, 30]] = 1.0;
        let seen = area_mean(&bitmap, [10.0; 2], FRAME);
        let sum: f64 = seen.iter().map(|&v| f64::from(v)).sum();
        assert!((sum - 5.2 * 5.2).abs() < 0.05, "{sum}");
        let x: f64 = seen
            .indexed_iter()
            .map(|((_, x), &v)| x as f64 * f64::from(v))
            .sum::<f64>()
            / sum;
        // (30 − 22) bitmap px from the middle, at 5.2 px each, from the middle of 211 px.
        assert!((x - (105.0 + 8.0 * 5.2)).abs() < 0.05, "{x}");
    }

    #[test]
    fn process_solids_look_like_their_names() {
        use rand::SeedableRng;
        let mut rng = rand_chacha::ChaCha8Rng::seed_from_u64(1);
        let strongest = |ink| {
            let density = solids::process(ink, true, &mut rng).solid_density;
            (0..3).max_by(|&a, &b| density[a].total_cmp(&density[b]))
        };
        assert_eq!(
            [Ink::C, Ink::M, Ink::Y].map(strongest),
            [Some(0), Some(1), Some(2)]
        );
    }
}
