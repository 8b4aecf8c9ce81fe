//! What shows on photographs that something was printed with a screen, or in several inks.

use super::bearing::may_show_screens;
use crate::measure::Examined;
use crate::measure::lattice::InkScreen;

/// Breadth of specks (see `measure::layering::specks`) from which they are of several inks: 548 of the 2870
/// drawn reproductions of the reference reach it and 14 of its 8480 period sheets (0.080 at most), and none of
/// 29 real engravings and lithographs photographed in colour (0.037 at most).
const SPECKS_OF_INKS: f64 = 0.05;

/// Shift between the colours of the marks (see `measure::layering::register`) from which they are of several inks:
/// 490 of the 2870 drawn reproductions of the reference reach it and one of its 8480 period sheets, a tinted lithograph with
/// washes (0.65).
const OUT_OF_REGISTER_PX: f64 = 0.25;

/// Whether the screens of three inks or more are turned to one another as those of process colour printing are, in any of
/// the photographs.
#[must_use]
pub fn rosette(photos: &[Examined]) -> bool {
    photos.iter().any(|p| p.measurements.lattice.is_rosette())
}

/// Whether a screen of dots was found in any of the photographs: square as printing screens are, or any lattice where a
/// photograph is too coarse to show a screen as it is. A screen finer than the pixels can bear comes out folded to a
/// coarser one, and that is seldom square: one of 141 lpi at 13.5 px/mm came out as one of 41 lpi, longer one way than the other.
#[must_use]
pub fn dot_screen(photos: &[Examined]) -> bool {
    photos.iter().any(|photo| {
        let inks = &photo.measurements.lattice.inks;
        if may_show_screens(photo) {
            inks.iter().any(InkScreen::is_square)
        } else {
            inks.iter().any(|ink| ink.skew().is_some())
        }
    })
}

/// Whether specks of several inks lie side by side in any of the photographs.
fn specks_of_inks(photos: &[Examined]) -> bool {
    let breadth = |p: &Examined| p.measurements.layering.speck_breadth.value();
    photos
        .iter()
        .filter_map(breadth)
        .any(|b| b >= SPECKS_OF_INKS)
}

/// Whether the colours of the marks lie out of register in any of the photographs.
fn out_of_register(photos: &[Examined]) -> bool {
    let shift = |p: &Examined| p.measurements.layering.out_of_register_px.value();
    photos
        .iter()
        .filter_map(shift)
        .any(|px| px >= OUT_OF_REGISTER_PX)
}

/// What shows that the marks were printed in several inks one after the other, in words; none where nothing does.
#[must_use]
pub fn several_inks(photos: &[Examined]) -> Option<&'static str> {
    if specks_of_inks(photos) {
        Some("specks of several inks lie side by side")
    } else if out_of_register(photos) {
        Some("the colours of the marks lie beside one another, out of register")
    } else {
        None
    }
}
