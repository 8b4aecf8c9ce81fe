//! Drawn sheets photographed in several places: what a second and third photograph add.

use super::Outcome;
use super::specimens::process_of;
use crate::examine;
use crate::measure::Examined;
use crate::photo::ReadOptions;
use crate::specimen::series::{SeedFamily, SeriesRequest};
use crate::specimen::views::{View, views};
use crate::weigh::Process;
use crate::weigh::evidence::values;
use crate::weigh::read::{equal_priors, posterior_if_alike, read};
use crate::weigh::reference::REFERENCE;
use crate::weigh::score::multiclass_cost;
use rayon::prelude::*;
use std::path::Path;

/// Photographs of each sheet.
pub const PLACES: usize = 3;
/// Where the sheets of a family begin: their seeds are no specimen's.
const SHEETS_FROM: u64 = 4_000_000;

/// Reads a family's sheets from their first photograph, their first two, and all three; `done` is told
/// of each sheet.
#[must_use]
pub fn read_sheets(
    family: SeedFamily,
    count: u64,
    done: &(dyn Fn() + Sync),
) -> [Vec<Outcome>; PLACES] {
    let of_sheets: Vec<[Outcome; PLACES]> = (0..count)
        .into_par_iter()
        .filter_map(|index| {
            let (process, photos) = photographed(family, index)?;
            done();
            Some([1, 2, PLACES].map(|n| Outcome {
                name: format!("sheet {index}"),
                group: String::new(),
                process: Some(process),
                colouring: Vec::new(),
                reading: read(&photos[..n], &equal_priors(), &REFERENCE),
            }))
        })
        .collect();
    std::array::from_fn(|n| of_sheets.iter().map(|sheet| sheet[n].clone()).collect())
}

/// Findings of a sheet's photographs, with its process.
pub struct Findings {
    process: Process,
    photos: Vec<Vec<Option<f64>>>,
}

/// Measures a family's sheets.
#[must_use]
pub fn findings(family: SeedFamily, count: u64, done: &(dyn Fn() + Sync)) -> Vec<Findings> {
    (0..count)
        .into_par_iter()
        .filter_map(|index| {
            let (process, photos) = photographed(family, index)?;
            done();
            let bare = |e: &Examined| values(e).into_iter().map(|v| v.map(|v| v.value)).collect();
            Some(Findings {
                process,
                photos: photos.iter().map(bare).collect(),
            })
        })
        .collect()
}

/// Multi-class cost of readings from the first `photos` of each sheet, were they alike to this degree.
#[must_use]
pub fn cost(sheets: &[Findings], photos: usize, alike: f64) -> f64 {
    let posteriors: Vec<(usize, Vec<f64>)> = sheets
        .iter()
        .map(|sheet| {
            let first = &sheet.photos[..photos.min(sheet.photos.len())];
            (
                sheet.process as usize,
                posterior_if_alike(first, alike, &REFERENCE),
            )
        })
        .collect();
    multiclass_cost(&posteriors, Process::ALL.len())
}

/// Draws one sheet, photographs it side by side, stores the photographs as its camera would, reads and
/// measures them, the scale given.
fn photographed(family: SeedFamily, index: u64) -> Option<(Process, Vec<Examined>)> {
    let places: Vec<View> = (0..PLACES).map(View::of).collect();
    let seed = family.seed(SHEETS_FROM + index);
    let sheet = views(seed, &SeriesRequest::default(), &places);
    let options = ReadOptions {
        px_per_mm: Some(sheet.px_per_mm),
        ..ReadOptions::default()
    };
    let photos = sheet
        .photos
        .iter()
        .enumerate()
        .filter_map(|(n, photo)| {
            let bytes = sheet.file.encode(photo).ok()?;
            examine::bytes(&bytes, Path::new(&format!("{n}")), &options).ok()
        })
        .collect::<Vec<_>>();
    (photos.len() == PLACES).then_some((process_of(sheet.origin)?, photos))
}
