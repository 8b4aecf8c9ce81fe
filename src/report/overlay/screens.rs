//! Printing screens, as directions on the whole photograph and as a grid on the detail.

use super::{Layer, View, centred};
use crate::ink::{Ink, Inked};
use crate::measure::lattice::{InkScreen, Lattice};
use crate::report::chart::axis::at;
use crate::report::picture::Window;
use crate::report::words::standing::layers_aid;
use crate::report::{figures, words};
use maud::{Markup, html};
use std::f64::consts::TAU;
use std::fmt::Write as _;

/// Periods under this many pixels cannot be told apart on the page.
const FINEST_GRID_PX: f64 = 2.5;
/// Length of a direction line, as a share of the shorter side.
const ARM_SHARE: f64 = 0.36;
/// Size of a name in the corner, as a share of the longer side.
const NAME_SHARE: f64 = 0.022;
/// Distance of the names' lines, in sizes of a name.
const NAME_STEP: f64 = 1.5;
/// Directions nearer than this lie on each other on a phone: at the end of an arm of 100 points they are
/// 3 points apart, little more than a line is wide.
const ALIKE_DEG: f64 = 2.0;
/// Length of a dash where lines lie on each other, points of the page.
const DASH: f64 = 9.0;
/// A line comes back to itself after half a turn, a square grid after a quarter.
const HALF_TURN_DEG: f64 = 180.0;
const QUARTER_TURN_DEG: f64 = 90.0;

/// The screens that were measured.
#[must_use]
pub fn layer(lattice: &Lattice, inked: &Inked, window: Window, view: View) -> Option<Layer> {
    if lattice.inks.is_empty() {
        return None;
    }
    let (title, aid, svg) = match view {
        View::Whole => (
            "directions of the screens",
            layers_aid::SCREEN_DIRECTIONS,
            directions(lattice, window),
        ),
        View::Detail => (
            "screens as grids",
            layers_aid::SCREEN_GRIDS,
            grids(lattice, inked, window),
        ),
    };
    Some(Layer {
        key: "lattice",
        title,
        aid,
        svg,
    })
}

/// A line through the middle in the direction of each screen's first frequency vector.
fn directions(lattice: &Lattice, window: Window) -> Markup {
    let (x, y) = window.middle();
    let arm = ARM_SHARE * window.short_side();
    let (screens, angles): (Vec<&InkScreen>, Vec<f64>) = lattice
        .inks
        .iter()
        .filter_map(|screen| Some((screen, screen.angle_deg.value()?)))
        .unzip();
    html! {
        @for (i, screen) in screens.iter().enumerate() {
            @let (sin, cos) = angles[i].to_radians().sin_cos();
            line class={ "screen " (class(screen.ink)) } style=[dashed(i, &angles, HALF_TURN_DEG)]
                x1=(at(x - arm * cos)) y1=(at(y + arm * sin))
                x2=(at(x + arm * cos)) y2=(at(y - arm * sin)) {}
        }
        (names(&screens, "", window))
    }
}

/// Dashes that fill each other's gaps, for a line that lies on others; `None` for one that lies alone.
fn dashed(index: usize, angles_deg: &[f64], turn_deg: f64) -> Option<String> {
    let apart = |angle: f64| {
        let off = (angle - angles_deg[index]).rem_euclid(turn_deg);
        off.min(turn_deg - off)
    };
    let alike: Vec<usize> = (0..angles_deg.len())
        .filter(|i| apart(angles_deg[*i]) < ALIKE_DEG)
        .collect();
    let place = alike.iter().position(|i| *i == index)?;
    (alike.len() > 1).then(|| {
        let gap = DASH * (alike.len() - 1) as f64;
        let start = DASH * place as f64;
        format!("stroke-dasharray:{DASH} {gap};stroke-dashoffset:{}", -start)
    })
}

/// The screens' names under each other in the upper left corner, each beside its colour: beside the lines
/// they would cover one another where inks share a direction.
fn names(screens: &[&InkScreen], style: &str, window: Window) -> Markup {
    let size = NAME_SHARE * window.width.max(window.height) as f64;
    let (left, top) = (window.left as f64 + size, window.top as f64 + 1.5 * size);
    html! {
        @for (i, screen) in screens.iter().enumerate() {
            @let y = top + NAME_STEP * size * i as f64;
            line class="screen key-halo" x1=(at(left)) x2=(at(left + 1.6 * size)) y1=(at(y)) y2=(at(y)) {}
            line class={ "screen key " (style) (class(screen.ink)) }
                x1=(at(left)) x2=(at(left + 1.6 * size)) y1=(at(y)) y2=(at(y)) {}
            text class="on-photo" x=(at(left + 2.2 * size)) y=(at(y + 0.35 * size)) font-size=(at(size)) {
                (label(screen))
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
    let drawn: Vec<(&InkScreen, String)> = lattice
        .inks
        .iter()
        .map(|screen| (screen, grid(screen, inked, window)))
        .filter(|(_, path)| !path.is_empty())
        .collect();
    let screens: Vec<&InkScreen> = drawn.iter().map(|(screen, _)| *screen).collect();
    // A screen without an angle lies on none: no number is near to one that is none.
    let angles: Vec<f64> = screens
        .iter()
        .map(|screen| screen.angle_deg.value().unwrap_or(f64::NAN))
        .collect();
    html! {
        (centred(&html! {
            @for (i, (screen, path)) in drawn.iter().enumerate() {
                path class={ "screen grid " (class(screen.ink)) }
                    style=[dashed(i, &angles, QUARTER_TURN_DEG)] d=(path) {}
            }
        }))
        (names(&screens, "grid ", window))
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
    fn lines_on_each_other_are_dashed_in_turn_and_others_are_not() {
        let angles = [0.7, 72.2, 0.7, 104.7];
        let of = |i: usize| dashed(i, &angles, HALF_TURN_DEG);
        assert_eq!(of(1), None);
        assert_eq!(of(3), None);
        let [first, second] = [0, 2].map(|i| of(i).unwrap());
        assert!(first.starts_with("stroke-dasharray:9 9;") && first != second);
        assert!(second.ends_with("stroke-dashoffset:-9"), "{second}");
        // 179.5° and 0.5° are one direction but for a degree.
        assert!(dashed(0, &[179.5, 0.5], HALF_TURN_DEG).is_some());
        // Squares turned by 89° lie on each other, lines do not.
        assert!(dashed(0, &[0.5, 89.5], HALF_TURN_DEG).is_none());
        assert!(dashed(0, &[0.5, 89.5], QUARTER_TURN_DEG).is_some());
        assert!(dashed(0, &[f64::NAN, f64::NAN], QUARTER_TURN_DEG).is_none());
    }

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
