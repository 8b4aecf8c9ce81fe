//! Film and colour on the ground between the marks.

use super::{Layer, centred, outline::placed};
use crate::ink::Inked;
use crate::measure::film::layout::{Kind, Layout};
use crate::measure::film::{Film, ground, levels, paper_and_film};
use crate::measure::layering::patches::{self, Patch};
use crate::measure::layering::{Layering, hue};
use crate::report::chart::axis::at;
use crate::report::picture::{self, Window};
use crate::report::words::standing::layers_aid;
use maud::html;

/// Cover over cells whose ground is film.
const FILM: [u8; 4] = [196, 140, 20, 120];
/// Cover over cells whose ground is neither paper nor film.
const OTHER: [u8; 4] = [90, 60, 170, 110];
/// Radius of a disc of ink, as a share of the shorter side: large enough that its colour is seen, small
/// enough that 400 of them leave the photograph in view.
const DISC_SHARE: f64 = 0.011;
/// Radius of the ring of ground round it, likewise.
const RING_SHARE: f64 = 0.018;

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
    let other = layout.kind.iter().any(|kind| *kind == Kind::Other);
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
        title: if other {
            "ground: film (amber), other colour (violet)"
        } else {
            "ground: film (amber)"
        },
        aid: if other {
            layers_aid::FILM_AND_OTHER
        } else {
            layers_aid::FILM
        },
        svg: html! { g class="cells" { (placed(&address, all)) } },
    })
}

/// The straight border of a colour.
#[must_use]
pub fn border(film: &Film, window: Window) -> Option<Layer> {
    let [from, to] = film.border_ends_px?;
    // Half of it may lie outside a detail; a layer is offered where any of it is seen.
    let seen = (0..=100).any(|i| {
        let t = f64::from(i) / 100.0;
        window.holds(
            from[0] + t * (to[0] - from[0]),
            from[1] + t * (to[1] - from[1]),
        )
    });
    let path = format!(
        "M{} {}L{} {}",
        at(from[0]),
        at(from[1]),
        at(to[0]),
        at(to[1])
    );
    seen.then(|| Layer {
        key: "border",
        title: "straight border of a colour",
        aid: layers_aid::BORDER,
        svg: centred(&html! {
            path class="border halo" d=(path) {}
            path class="border" d=(path) {}
        }),
    })
}

/// Patches of ink: a disc in the colour of the ink, in a ring in the colour of its ground. There is none
/// where no ink was measured.
#[must_use]
pub fn colours(layering: &Layering, inked: &Inked, window: Window) -> Option<Layer> {
    let seen: Vec<[f64; 2]> = layering
        .points
        .iter()
        .map(|point| point.at_px)
        .filter(|[x, y]| window.holds(*x, *y))
        .collect();
    if seen.is_empty() {
        return None;
    }
    let map = ground::map(inked);
    let inks = hue::fit(patches::measure(inked, &map), map.solid);
    let side = window.short_side();
    let (disc, ring) = (at(DISC_SHARE * side), at(RING_SHARE * side));
    Some(Layer {
        key: "layering",
        title: "colour of ink (disc) and ground (ring)",
        aid: layers_aid::COLOURS,
        svg: centred(&html! {
            @for patch in inks.iter().filter(|patch| seen.contains(&patch.at_px)) {
                @let (x, y) = (at(patch.at_px[0]), at(patch.at_px[1]));
                circle class="patch" cx=(x) cy=(y) r=(ring) fill=(ground_colour(patch)) {}
                circle class="patch" cx=(x) cy=(y) r=(disc) fill=(ink_colour(patch)) {}
            }
        }),
    })
}

/// The ink as on white paper: as dark as the cores of its marks, of the hue of the light that its marks
/// take away, which blur and the ground do not change.
fn ink_colour(patch: &Patch) -> String {
    let mean = |of: [f64; 3]| of.iter().sum::<f64>() / 3.0;
    let dark = 1.0 - 10f64.powf(-mean(patch.core));
    // No light missing at all is no ink; the floor only keeps the quotient finite.
    let hue = mean(patch.contrast).max(1e-6);
    hex(patch.contrast.map(|missing| 1.0 - dark * missing / hue))
}

/// The ground as on white paper.
fn ground_colour(patch: &Patch) -> String {
    hex(patch.ground.map(|density| 10f64.powf(-density)))
}

/// Linear light 0–1 as a colour of the page; what lies outside is cut off.
fn hex(linear: [f64; 3]) -> String {
    let [r, g, b] = linear.map(|light| picture::encoded(light as f32));
    format!("#{r:02x}{g:02x}{b:02x}")
}

#[cfg(test)]
mod tests {
    use super::*;

    fn patch(contrast: [f64; 3], core: [f64; 3], ground: [f64; 3]) -> Patch {
        Patch {
            at_px: [0.0; 2],
            ground,
            contrast,
            core,
            ground_scatter: 0.0,
        }
    }

    #[test]
    fn discs_and_rings_have_the_colours_that_were_measured() {
        // Black under a rose wash: the ink is neutral, the ground is not.
        let washed = patch([0.4; 3], [1.0; 3], [0.0, 0.3, 0.2]);
        let [r, g, b] = [1_usize, 3, 5].map(|i| ink_colour(&washed)[i..i + 2].to_owned());
        assert!(r == g && g == b, "{}", ink_colour(&washed));
        assert_eq!(&ground_colour(&washed)[..3], "#ff");
        // A red ink on bare paper takes away green and blue.
        let red = patch([0.1, 0.4, 0.4], [0.2, 1.0, 1.0], [0.0; 3]);
        let ink = ink_colour(&red);
        let red_of = |i: usize| u8::from_str_radix(&ink[i..i + 2], 16).unwrap();
        assert!(red_of(1) > red_of(3) + 60, "{ink}");
        assert_eq!(ground_colour(&red), "#ffffff");
    }
}
