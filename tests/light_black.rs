//! Black that covers little, at the usual angles of four-colour work: its first waves are sums of those of cyan and magenta
//! (15° and 75° either side of 45°, one ruling), and must be laid neither to these nor given by their diagonals alone.
//!
//! Drawn here: the first reproductions of the scoring series by offset in four inks whose black covers under 7 %.

use inktell::examine;
use inktell::ink::Ink;
use inktell::photo::ReadOptions;
use inktell::specimen::series::{SeedFamily, SeriesRequest, specimen};
use inktell::specimen::sheet::Origin;
use std::path::Path;

#[test]
fn light_black_has_its_own_ruling_and_angle() {
    let request = SeriesRequest {
        origin: Some(Origin::Halftone),
        ..SeriesRequest::default()
    };
    for number in [4, 15, 33] {
        let drawn = specimen(SeedFamily::Scoring.seed(number), &request);
        let options = ReadOptions {
            px_per_mm: Some(drawn.truth.px_per_mm),
            ..ReadOptions::default()
        };
        let bytes = drawn.encode().expect("encodes");
        let name = drawn.file_name();
        let examined = examine::bytes(&bytes, Path::new(&name), &options).expect("is read");
        let truth = drawn.truth.screens.iter().find(|s| s.ink == Ink::K);
        let truth = truth.expect("four inks");
        assert!(truth.area < 0.07 && drawn.truth.screens.len() == 4);
        let inks = &examined.measurements.lattice.inks;
        assert_eq!(inks.len(), 4, "{name}");
        let black = inks.iter().find(|s| s.ink == Ink::K).expect("found");
        let ruling = black.ruling_lpi.value().expect("a scale");
        approx::assert_relative_eq!(ruling, truth.ruling_lpi, max_relative = 0.01);
        let off = black.angle_deg.value().expect("an angle") - truth.angle_deg;
        let off = (off + 45.0).rem_euclid(90.0) - 45.0;
        assert!(off.abs() < 0.5, "{name}: {off}°");
    }
}
