//! What repeats without being a screen: hatching, stipple, crayon grain, laid paper, the blocks of JPEG and the
//! colour filter of a sensor. No screen may be reported in any of these photographs.
//!
//! They are drawn here, the first of a fixed series of seeds that nothing was fitted to.

use inktell::examine;
use inktell::photo::ReadOptions;
use inktell::specimen::periodic::Periodic;
use inktell::specimen::series::{SeedFamily, SeriesRequest, specimen};
use inktell::specimen::sheet::{ColourTruth, Origin};
use rayon::prelude::*;
use std::path::Path;

/// Photographs of each kind.
const EACH: u64 = 4;

fn requests() -> Vec<(&'static str, SeriesRequest)> {
    let usual = SeriesRequest {
        size_px: Some([900, 700]),
        px_per_mm: Some([30.0, 150.0]),
        ..SeriesRequest::default()
    };
    let by_hand = |origin| SeriesRequest {
        origin: Some(origin),
        colouring: Some(vec![ColourTruth::None]),
        ..usual.clone()
    };
    let repeating = |periodic| SeriesRequest {
        periodic: Some(periodic),
        ..usual.clone()
    };
    vec![
        ("line engraving", by_hand(Origin::LineEngraving)),
        ("stipple engraving", by_hand(Origin::StippleEngraving)),
        ("crayon lithograph", by_hand(Origin::Lithograph)),
        ("laid paper", repeating(Periodic::LaidPaper)),
        ("blocks of JPEG", repeating(Periodic::CompressedBlank)),
        ("colour filter", repeating(Periodic::DemosaicMaze)),
    ]
}

/// What is reported of screens in a photograph, in words; none where nothing is.
fn reported(seed: u64, request: &SeriesRequest) -> Option<String> {
    let drawn = specimen(seed, request);
    let bytes = drawn.encode().expect("encodes");
    let options = ReadOptions {
        px_per_mm: Some(drawn.truth.px_per_mm),
        ..ReadOptions::default()
    };
    let examined = examine::bytes(&bytes, Path::new("drawn.jpg"), &options).expect("is read");
    let lattice = &examined.measurements.lattice;
    (!lattice.inks.is_empty()).then(|| {
        let inks = lattice.inks.iter();
        let told: Vec<String> = inks
            .map(|i| {
                format!(
                    "{:?} {:?} px {} vectors, false alarm {:e}",
                    i.ink,
                    i.period_px.value(),
                    i.vectors_per_px.len(),
                    i.false_alarm
                )
            })
            .collect();
        told.join("; ")
    })
}

#[test]
fn nothing_that_merely_repeats_is_reported_as_a_screen() {
    let wanted: Vec<(&str, SeriesRequest, u64)> = requests()
        .into_iter()
        .flat_map(|(name, request)| (0..EACH).map(move |i| (name, request.clone(), i)))
        .collect();
    assert!(wanted.len() >= 20);
    let wrong: Vec<String> = wanted
        .into_par_iter()
        .filter_map(|(name, request, index)| {
            let told = reported(SeedFamily::Scoring.seed(index), &request)?;
            Some(format!("{name} {index}: {told}"))
        })
        .collect();
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}
