//! Drawn specimens measured, for fitting the reference and for scoring it.

use super::Outcome;
use super::figures::{Check, checks};
use crate::examine;
use crate::measure::Examined;
use crate::photo::ReadOptions;
use crate::specimen::block::LookAlike;
use crate::specimen::screen::Family;
use crate::specimen::series::{FIVE, SeedFamily, SeriesRequest, specimen};
use crate::specimen::sheet::{ColourTruth, Origin};
use crate::specimen::truth::SpecimenTruth;
use crate::weigh::doubt::SCREENS_SHOW_PX_PER_MM;
use crate::weigh::evidence::values;
use crate::weigh::features::FEATURES;
use crate::weigh::outside::Outside;
use crate::weigh::read::{equal_priors, read};
use crate::weigh::reference::REFERENCE;
use crate::weigh::table::{Row, Subject, Table};
use crate::weigh::{Colouring, Process};
use rayon::prelude::*;
use std::path::Path;

/// The process that a specimen's origin stands for; none outside the five.
#[must_use]
pub fn process_of(origin: Origin) -> Option<Process> {
    match origin {
        Origin::StippleEngraving => Some(Process::StippleEngraving),
        Origin::LineEngraving => Some(Process::LineEngraving),
        Origin::Lithograph => Some(Process::Lithograph),
        Origin::TintedLithograph => Some(Process::TintedLithograph),
        Origin::Halftone => Some(Process::Halftone),
        Origin::Other => None,
    }
}

/// The colouring that a specimen's truth stands for.
#[must_use]
pub fn colouring_of(truth: ColourTruth) -> Colouring {
    match truth {
        ColourTruth::None => Colouring::None,
        ColourTruth::HandWash => Colouring::HandWash,
        ColourTruth::ColouredInk => Colouring::ColouredInk,
        ColourTruth::PrintedTint => Colouring::PrintedTint,
        ColourTruth::ProcessColour => Colouring::ProcessColour,
    }
}

/// Whether the scale of a drawn photograph is told.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ScaleTold {
    /// As a user with a photograph of a rule would.
    Yes,
    /// Not at all.
    No,
}

/// Draws one specimen, stores it as its camera would, reads that file and measures it.
#[must_use]
pub fn measured(
    seed: u64,
    request: &SeriesRequest,
    told: ScaleTold,
) -> Option<(SpecimenTruth, Examined)> {
    let drawn = specimen(seed, request);
    let bytes = drawn.encode().ok()?;
    let options = ReadOptions {
        px_per_mm: (told == ScaleTold::Yes).then_some(drawn.truth.px_per_mm),
        ..ReadOptions::default()
    };
    let examined = examine::bytes(&bytes, Path::new(&drawn.file_name()), &options).ok()?;
    Some((drawn.truth, examined))
}

/// Where the reproductions of a family that are asked for by their screen begin: their seeds are none of the five's.
const SCREENED_FROM: u64 = 2_000_000;

/// Where the specimens of something outside the five begin, and what is drawn in turn.
fn outside_the_five(outside: Outside) -> (u64, &'static [LookAlike]) {
    match outside {
        Outside::Relief => (1_000_000, &[LookAlike::WoodEngraving, LookAlike::Woodcut]),
        Outside::Tonal => (
            3_000_000,
            &[
                LookAlike::Aquatint,
                LookAlike::Mezzotint,
                LookAlike::Collotype,
                LookAlike::Photogravure,
                LookAlike::PhotographicScene,
            ],
        ),
        Outside::Chromolithograph => (4_000_000, &[LookAlike::Chromolithograph]),
        Outside::Cloth => (5_000_000, &[LookAlike::Textile]),
    }
}

/// What is measured into a table.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Wanted {
    /// The five processes in turn.
    TheFive,
    /// One subject of the table.
    Only(Subject),
    /// Reproductions by one kind of screen, besides those that the five in turn hold.
    Screened(Family),
}

/// Measures a stretch of a family of seeds into a table; `done` is told of each.
#[must_use]
pub fn table(
    family: SeedFamily,
    stretch: std::ops::Range<u64>,
    wanted: Wanted,
    request: &SeriesRequest,
    done: &(dyn Fn() + Sync),
) -> Table {
    let rows = stretch
        .into_par_iter()
        .filter_map(|index| row(family, index, wanted, request))
        .inspect(|_| done())
        .collect();
    Table {
        findings: FEATURES.iter().map(|f| f.key.to_owned()).collect(),
        rows,
    }
}

/// One measured specimen; none where it is not wanted.
fn row(family: SeedFamily, index: u64, wanted: Wanted, request: &SeriesRequest) -> Option<Row> {
    let mut request = request.clone();
    let seed = match wanted {
        Wanted::Only(Subject::Outside(outside)) => {
            let (from, kinds) = outside_the_five(outside);
            request.origin = Some(Origin::Other);
            request.look_alike = Some(kinds[(index % kinds.len() as u64) as usize]);
            family.seed(from + index)
        }
        Wanted::Screened(screen) => {
            request.origin = Some(Origin::Halftone);
            request.family = Some(screen);
            family.seed(SCREENED_FROM + index)
        }
        _ => family.seed(index),
    };
    if let Wanted::Only(Subject::Process(only)) = wanted
        && process_of(FIVE[(seed % FIVE.len() as u64) as usize]) != Some(only)
    {
        return None;
    }
    let (truth, examined) = measured(seed, &request, ScaleTold::Yes)?;
    Some(Row {
        seed,
        subject: match wanted {
            Wanted::Only(subject) => subject,
            Wanted::TheFive | Wanted::Screened(_) => Subject::Process(process_of(truth.origin)?),
        },
        colouring: truth.colouring.iter().map(|&c| colouring_of(c)).collect(),
        scattered: truth.stochastic,
        tinted: truth.tint.map(|(_, share)| share),
        values: values(&examined)
            .into_iter()
            .map(|v| v.map(|v| v.value))
            .collect(),
    })
}

/// Figures against truth of a stretch of a family of seeds.
#[must_use]
pub fn check_series(
    family: SeedFamily,
    stretch: std::ops::Range<u64>,
    request: &SeriesRequest,
    done: &(dyn Fn() + Sync),
) -> Vec<Check> {
    stretch
        .into_par_iter()
        .filter_map(|index| {
            let (truth, examined) = measured(family.seed(index), request, ScaleTold::Yes)?;
            done();
            Some(checks(&truth, &examined))
        })
        .flatten_iter()
        .collect()
}

/// What a photograph through a good loupe has, px per mm.
const OF_A_GOOD_LOUPE: f64 = 60.0;

/// The range that a resolution lies in: where no period process is named, or below or above what a photograph through a
/// good loupe has.
fn resolution(px_per_mm: f64) -> String {
    let (shown, good) = (SCREENS_SHOW_PX_PER_MM, OF_A_GOOD_LOUPE);
    match px_per_mm {
        p if p < shown => format!("under {shown:.0} px/mm"),
        p if p < good => format!("{shown:.0} to {good:.0} px/mm"),
        _ => format!("{good:.0} px/mm and more"),
    }
}

/// Reads a stretch of a family of seeds; with `request.with_others` look-alikes take a sixth turn.
#[must_use]
pub fn read_series(
    family: SeedFamily,
    count: u64,
    request: &SeriesRequest,
    told: ScaleTold,
    done: &(dyn Fn() + Sync),
) -> (Vec<Outcome>, Vec<Check>) {
    let both: Vec<(Outcome, Vec<Check>)> = (0..count)
        .into_par_iter()
        .filter_map(|index| {
            let (truth, examined) = measured(family.seed(index), request, told)?;
            done();
            let outcome = Outcome {
                name: format!(
                    "{} {}",
                    SeedFamily::index(truth.seed),
                    truth.other.clone().unwrap_or_default()
                ),
                group: resolution(truth.px_per_mm),
                process: process_of(truth.origin),
                colouring: truth.colouring.iter().map(|&c| colouring_of(c)).collect(),
                reading: read(std::slice::from_ref(&examined), &equal_priors(), &REFERENCE),
            };
            Some((outcome, checks(&truth, &examined)))
        })
        .collect();
    let (outcomes, checks): (Vec<_>, Vec<_>) = both.into_iter().unzip();
    (outcomes, checks.into_iter().flatten().collect())
}
