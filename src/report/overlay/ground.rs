//! Film and colour on the ground between the marks.

use super::{Layer, centred, outline::placed};
use crate::ink::Inked;
use crate::measure::film::layout::{Kind, Layout};
use crate::measure::film::{ground, levels, paper_and_film};
use crate::measure::layering::{Layering, Point};
use crate::report::chart::axis::at;
use crate::report::picture::{self, Window};
use maud::html;

/// Cover over cells whose ground is film.
const FILM: [u8; 4] = [196, 140, 20, 120];
/// Cover over cells whose ground is neither paper nor film.
const OTHER: [u8; 4] = [90, 60, 170, 110];
/// Hue that is drawn at full size: that of a pure primary.
const FULL_HUE: f64 = 1.0;
/// Radius of a point at full hue, as a share of the shorter side.
const FULL_RADIUS_SHARE: f64 = 0.02;

/// Cells whose ground is a film or a wash; none where the ground is one level.
#[must_use]
pub fn film(inked: &Inked, window: Window) -> Option<Layer> {
    if inked.grey {
        return None;
    }
    let map = ground::map(inked);
    let levels = levels::find(&map);
    let (paper, film) = paper_and_film(&levels);
    film?;
    let layout = Layout::new(&map, paper, film);
    let (rows, cols) = layout.kind.dim();
    let pixels: Vec<_> = layout
        .kind
        .iter()
        .map(|kind| match kind {
            Kind::Film => FILM,
            Kind::Other => OTHER,
            Kind::Paper | Kind::Hidden => [0; 4],
        })
        .collect();
    let all = Window {
        left: 0,
        top: 0,
        width: cols * map.cell_px,
        height: rows * map.cell_px,
    };
    let seen = window.left < all.width && window.top < all.height;
    let address = picture::png(&pixels, cols, rows).filter(|_| seen)?;
    Some(Layer {
        key: "film",
        title: "ground: film (amber), other colour (violet)",
        svg: html! { g class="cells" { (placed(&address, all)) } },
    })
}

/// Patches of ink: a disc as large as the ink is coloured, a ring as large as the ground is.
#[must_use]
pub fn colours(layering: &Layering, window: Window) -> Option<Layer> {
    let full = FULL_RADIUS_SHARE * window.short_side();
    let radius = |hue: f64| at(full * (hue / FULL_HUE).clamp(0.0, 1.0).sqrt());
    let seen: Vec<&Point> = layering
        .points
        .iter()
        .filter(|p| window.holds(p.at_px[0], p.at_px[1]))
        .collect();
    (!seen.is_empty()).then(|| Layer {
        key: "layering",
        title: "colour of ink (disc) and ground (ring)",
        svg: centred(&html! {
            @for point in seen {
                @let (x, y) = (at(point.at_px[0]), at(point.at_px[1]));
                circle class="ink-hue" cx=(x) cy=(y) r=(radius(point.ink)) {}
                circle class="ground-hue" cx=(x) cy=(y) r=(radius(point.ground)) {}
            }
        }),
    })
}
