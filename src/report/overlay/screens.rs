//! Printing screens, as directions on the whole photograph and as a grid on the detail.

use super::{Layer, View, centred};
use crate::ink::{Ink, Inked};
use crate::measure::lattice::{InkScreen, Lattice};
use crate::report::chart::axis::at;
use crate::report::picture::Window;
use crate::report::{figures, words};
use maud::{Markup, html};
use std::f64::consts::TAU;
use std::fmt::Write as _;

/// Periods under this many pixels cannot be told apart on the page.
const FINEST_GRID_PX: f64 = 2.5;
/// Length of a direction line, as a share of the shorter side.
const ARM_SHARE: f64 = 0.36;
/// Size of its label, as a share of the longer side.
const LABEL_SHARE: f64 = 0.022;

/// The screens that were measured.
#[must_use]
pub fn layer(lattice: &Lattice, inked: &Inked, window: Window, view: View) -> Option<Layer> {
    if lattice.inks.is_empty() {
        return None;
    }
    let svg = match view {
        View::Whole => directions(lattice, window),
        View::Detail => centred(&grids(lattice, inked, window)),
    };
    Some(Layer {
        key: "lattice",
        title: match view {
            View::Whole => "directions of the screens",
            View::Detail => "screens as grids",
        },
        svg,
    })
}

/// A line from the middle in the direction of each screen's first frequency vector.
fn directions(lattice: &Lattice, window: Window) -> Markup {
    let (x, y) = window.middle();
    let arm = ARM_SHARE * window.short_side();
    let size = LABEL_SHARE * window.width.max(window.height) as f64;
    html! {
        @for screen in &lattice.inks {
            @if let Some(angle) = screen.angle_deg.value() {
                @let (sin, cos) = angle.to_radians().sin_cos();
                @let (tip_x, tip_y) = (x + arm * cos, y - arm * sin);
                line class={ "screen " (class(screen.ink)) }
                    x1=(at(x - arm * cos)) y1=(at(y + arm * sin)) x2=(at(tip_x)) y2=(at(tip_y)) {}
                text class="on-photo" x=(at(tip_x + size / 2.0)) y=(at(tip_y)) font-size=(at(size)) {
                    (label(screen))
                }
            }
        }
    }
}

fn label(screen: &InkScreen) -> String {
    let angle = screen
        .angle_deg
        .value()
        .map_or_else(String::new, |a| format!(" {}°", figures::number(a, 1)));
    format!("{}{angle}", words::ink_name(&format!("{:?}", screen.ink)))
}

fn class(ink: Ink) -> &'static str {
    match ink {
        Ink::K => "ink-k",
        Ink::C => "ink-c",
        Ink::M => "ink-m",
        Ink::Y => "ink-y",
        Ink::S => "ink-s",
    }
}

/// Lines through the rows of dots of each screen, in step with the dots of this window.
fn grids(lattice: &Lattice, inked: &Inked, window: Window) -> Markup {
    html! {
        @for screen in &lattice.inks {
            @let path = grid(screen, inked, window);
            @if !path.is_empty() {
                path class={ "screen grid " (class(screen.ink)) } d=(path) {}
            }
        }
    }
}

fn grid(screen: &InkScreen, inked: &Inked, window: Window) -> String {
    let mut path = String::new();
    for &[fx, fy] in &screen.vectors_per_px {
        let frequency = fx.hypot(fy);
        if frequency * FINEST_GRID_PX > 1.0 || frequency * window.short_side() < 1.0 {
            continue;
        }
        let crest = -phase(inked, screen.ink, [fx, fy], window) / TAU;
        rows(&mut path, [fx, fy], crest, window);
    }
    path
}

/// Phase of the ink's darkness at a frequency, counted from the window's middle, radians.
fn phase(inked: &Inked, ink: Ink, [fx, fy]: [f64; 2], window: Window) -> f64 {
    // The channel in which each ink is darkest.
    let plane = match ink {
        Ink::C => &inked.density[0],
        Ink::M => &inked.density[1],
        Ink::Y => &inked.density[2],
        Ink::K | Ink::S => &inked.grey_density,
    };
    let (middle_x, middle_y) = window.middle();
    let (mut re, mut im) = (0.0, 0.0);
    for y in window.top..(window.top + window.height).min(plane.nrows()) {
        for x in window.left..(window.left + window.width).min(plane.ncols()) {
            let turn = TAU * (fx * (x as f64 - middle_x) + fy * (y as f64 - middle_y));
            let value = f64::from(plane[[y, x]]);
            re += value * turn.cos();
            im -= value * turn.sin();
        }
    }
    im.atan2(re)
}

/// Straight lines at `f · (x − middle) = crest + k` across the window.
fn rows(path: &mut String, [fx, fy]: [f64; 2], crest: f64, window: Window) {
    let frequency = fx.hypot(fy);
    let (middle_x, middle_y) = window.middle();
    let reach = (window.width as f64).hypot(window.height as f64) / 2.0;
    let most = (reach * frequency).ceil() as i64;
    let (nx, ny) = (fx / frequency, fy / frequency);
    for k in -most..=most {
        let away = (k as f64 + crest) / frequency;
        let (x, y) = (middle_x + away * nx, middle_y + away * ny);
        // The line runs square to the frequency vector; what lies outside is clipped.
        let _ = write!(
            path,
            "M{} {}L{} {}",
            at(x - reach * ny),
            at(y + reach * nx),
            at(x + reach * ny),
            at(y - reach * nx)
        );
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plane::Plane;
    use crate::report::example;

    #[test]
    fn grid_lines_run_through_the_dark_rows() {
        let mut inked = example::stipple().photos.remove(0).inked;
        // Dark rows at x = 7.3 + 9.7 k.
        inked.grey_density = Plane::from_shape_fn((120, 210), |(_, x)| {
            0.5 + 0.4 * ((TAU / 9.7) * (x as f64 - 7.3)).cos() as f32
        });
        let window = Window {
            left: 40,
            top: 20,
            width: 97,
            height: 60,
        };
        let f = [1.0 / 9.7, 0.0];
        let crest = -phase(&inked, Ink::K, f, window) / TAU;
        let row = window.middle().0 + crest * 9.7;
        let off = ((row - 7.3) / 9.7 + 0.5).rem_euclid(1.0) - 0.5;
        assert!(off.abs() < 0.02, "{off} periods off");
    }
}
