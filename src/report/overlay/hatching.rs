//! Directions of hatching, and the strokes that were followed.

use super::{Layer, View, centred};
use crate::measure::lines::{Lines, Stroke};
use crate::report::chart::axis::at;
use crate::report::picture::Window;
use crate::report::words::standing::layers_aid;
use maud::html;
use std::fmt::Write as _;

/// Systems drawn; the rest cover too little of the field to be seen.
const MOST_SYSTEMS: usize = 6;
/// Length of a direction's dash as a share of the patch it stands for, so that dashes stay apart.
const DASH_SHARE: f64 = 0.62;
/// Strokes drawn at most; more hide the photograph.
const MOST_STROKES: usize = 1500;

/// A dash along the lines in each patch where a system of hatching was found.
#[must_use]
pub fn directions(lines: &Lines, window: Window) -> Option<Layer> {
    let paths: Vec<String> = lines
        .systems
        .iter()
        .take(MOST_SYSTEMS)
        .map(|system| {
            let mut path = String::new();
            for place in system.places.iter().filter(|p| window.holds(p.x, p.y)) {
                let angle = place.orientation_deg.to_radians();
                let half = DASH_SHARE * place.cell_px / 2.0;
                let (dx, dy) = (half * angle.cos(), -half * angle.sin());
                let _ = write!(
                    path,
                    "M{} {}L{} {}",
                    at(place.x - dx),
                    at(place.y - dy),
                    at(place.x + dx),
                    at(place.y + dy)
                );
            }
            path
        })
        .collect();
    paths.iter().any(|p| !p.is_empty()).then(|| Layer {
        key: "hatching",
        title: "directions of hatching",
        aid: layers_aid::HATCHING,
        svg: centred(&html! {
            @for (i, path) in paths.iter().enumerate() {
                path class={ "system s" (i) } d=(path) {}
            }
        }),
    })
}

/// The middle lines of the strokes that were followed; in the detail only.
#[must_use]
pub fn strokes(lines: &Lines, window: Window, view: View) -> Option<Layer> {
    if view == View::Whole {
        return None;
    }
    let mut path = String::new();
    let seen = |s: &&Stroke| s.points.iter().any(|p| window.holds(p[0], p[1]));
    for stroke in lines.strokes.iter().filter(seen).take(MOST_STROKES) {
        for (i, [x, y]) in stroke.points.iter().enumerate() {
            let _ = write!(
                path,
                "{}{} {}",
                if i == 0 { 'M' } else { 'L' },
                at(*x),
                at(*y)
            );
        }
    }
    (!path.is_empty()).then(|| Layer {
        key: "strokes",
        title: "strokes followed",
        aid: layers_aid::STROKES,
        svg: centred(&html! { path class="stroke" d=(path) {} }),
    })
}
