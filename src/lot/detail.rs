//! The telling detail of a photograph, cropped at a legible scale.

use super::record::Pictures;
use crate::ink::Ink;
use crate::measure::Examined;
use crate::measure::lattice::InkScreen;
use crate::plane::Plane;
use crate::report::figures;
use crate::report::picture::{self, Window};
use crate::report::words;
use std::f64::consts::TAU;

/// Width of the detail as stored, px: shown at about this size, some 6 cm wide on a screen.
const DETAIL_SIDE_PX: usize = 224;
/// Longest side of the whole photograph as stored, px: enough to know a sheet again.
const WHOLE_SIDE_PX: usize = 112;
/// Width of the detail on the sheet, mm: 15 dots of a 150 lpi screen, each seen as a dot.
const DETAIL_MM: f64 = 2.5;
/// Periods of a screen across the detail where there is one.
const DETAIL_PERIODS: f64 = 14.0;
/// Width of the detail where neither a scale nor a screen is known, px.
const DETAIL_PX: f64 = 320.0;
/// Narrowest and widest detail, px: below, it is a blur when shown; above, dots vanish in reducing.
const WIDTHS_PX: std::ops::RangeInclusive<f64> = 96.0..=720.0;
/// Most places looked at, so that a large photograph takes no longer than a small one.
const MOST_PLACES: usize = 64;

/// A detail with how telling it is against those of the sheet's other photographs.
pub struct Detail {
    /// The pictures.
    pub pictures: Pictures,
    /// Screens first, then the number of figures measured.
    pub telling: (bool, usize),
}

/// Crops the telling detail: where the screen swings most, or where most printed edge lies.
#[must_use]
pub fn of(examined: &Examined, file: &str) -> Detail {
    let screen = strongest(&examined.measurements.lattice.inks);
    let size = size(examined, screen);
    let window = match screen {
        Some((screen, vector)) => {
            let plane = channel(examined, screen.ink);
            best(examined, size, |w| swing(plane, vector, w))
        }
        None => best(examined, size, |w| edges(&examined.inked.grey_density, w)),
    };
    let photo = &examined.photo;
    Detail {
        pictures: Pictures {
            detail: picture::jpeg(photo, window, DETAIL_SIDE_PX),
            detail_caption: Some(caption(examined, screen.map(|s| s.0), window, file)),
            whole: picture::jpeg(photo, Window::whole(photo), WHOLE_SIDE_PX),
        },
        telling: (
            screen.is_some(),
            crate::report::listing::figures_measured(examined),
        ),
    }
}

/// The black screen, which the sentence names and the eye sees best, else the one with the largest swing
/// in density; with its first frequency vector.
fn strongest(screens: &[InkScreen]) -> Option<(&InkScreen, [f64; 2])> {
    screens
        .iter()
        .filter_map(|screen| Some((screen, *screen.vectors_per_px.first()?)))
        .max_by(|(a, _), (b, _)| {
            let rank = |s: &InkScreen| (s.ink == Ink::K, s.amplitude);
            let (a, b) = (rank(a), rank(b));
            a.0.cmp(&b.0).then(a.1.total_cmp(&b.1))
        })
}

/// Width and height of the detail, px.
fn size(examined: &Examined, screen: Option<(&InkScreen, [f64; 2])>) -> (usize, usize) {
    let period = screen.map(|(_, [fx, fy])| 1.0 / fx.hypot(fy).max(1e-6));
    let wanted = match (period, examined.inked.px_per_mm()) {
        (Some(period), _) => DETAIL_PERIODS * period,
        (None, Some(px_per_mm)) => DETAIL_MM * px_per_mm,
        (None, None) => DETAIL_PX,
    };
    let width = wanted.clamp(*WIDTHS_PX.start(), *WIDTHS_PX.end());
    let side = |px: f64, most: usize| (px.round() as usize).clamp(1, most.max(1));
    (
        side(width, examined.photo.width()),
        side(0.75 * width, examined.photo.height()),
    )
}

/// The channel in which an ink is darkest.
fn channel(examined: &Examined, ink: Ink) -> &Plane {
    let inked = &examined.inked;
    match ink {
        Ink::C => &inked.density[0],
        Ink::M => &inked.density[1],
        Ink::Y => &inked.density[2],
        Ink::K | Ink::S => &inked.grey_density,
    }
}

/// The window with the highest score times its usable share; the first of equals, the middle where
/// nothing scores.
fn best(
    examined: &Examined,
    (width, height): (usize, usize),
    score: impl Fn(Window) -> f64,
) -> Window {
    let usable = &examined.photo.usable;
    let (rows, cols) = usable.dim();
    let window = |left, top| Window {
        left,
        top,
        width,
        height,
    };
    let mut best = (window((cols - width) / 2, (rows - height) / 2), 0.0);
    let (across, down) = places(cols / width, rows / height);
    for top in starts(rows - height, down) {
        for left in starts(cols - width, across) {
            let w = window(left, top);
            let whole = usable_share(usable, w);
            let value = score(w) * whole * whole;
            if value > best.1 {
                best = (w, value);
            }
        }
    }
    best.0
}

/// How many places to look at across and down: side by side, thinned out to [`MOST_PLACES`].
fn places(across: usize, down: usize) -> (usize, usize) {
    let (mut across, mut down) = (across.max(1), down.max(1));
    while across * down > MOST_PLACES {
        if across >= down {
            across = across.div_ceil(2);
        } else {
            down = down.div_ceil(2);
        }
    }
    (across, down)
}

/// `count` starts spread evenly over `0..=last`.
fn starts(last: usize, count: usize) -> impl Iterator<Item = usize> {
    (0..count).map(move |i| {
        if count == 1 {
            last / 2
        } else {
            i * last / (count - 1)
        }
    })
}

fn pixels(window: Window, step: usize) -> impl Iterator<Item = (usize, usize)> {
    (window.top..window.top + window.height)
        .step_by(step)
        .flat_map(move |y| {
            (window.left..window.left + window.width)
                .step_by(step)
                .map(move |x| (y, x))
        })
}

fn usable_share(usable: &crate::plane::Mask, window: Window) -> f64 {
    const STEP: usize = 4;
    let (mut fine, mut all) = (0, 0);
    for place in pixels(window, STEP) {
        all += 1;
        fine += usize::from(usable[place]);
    }
    f64::from(fine as u32) / f64::from((all as u32).max(1))
}

/// Amplitude of a plane at a frequency.
fn swing(plane: &Plane, [fx, fy]: [f64; 2], window: Window) -> f64 {
    let (mut re, mut im) = (0.0, 0.0);
    for (y, x) in pixels(window, 1) {
        let (sin, cos) = (TAU * (fx * x as f64 + fy * y as f64)).sin_cos();
        let value = f64::from(plane[[y, x]]);
        re += value * cos;
        im -= value * sin;
    }
    re.hypot(im) / (window.width * window.height) as f64
}

/// Mean step in density from a pixel to its right and lower neighbours.
fn edges(density: &Plane, window: Window) -> f64 {
    let (rows, cols) = density.dim();
    let mut sum = 0.0;
    for (y, x) in pixels(window, 1) {
        let here = density[[y, x]];
        if x + 1 < cols {
            sum += f64::from((density[[y, x + 1]] - here).abs());
        }
        if y + 1 < rows {
            sum += f64::from((density[[y + 1, x]] - here).abs());
        }
    }
    sum / (window.width * window.height) as f64
}

fn caption(examined: &Examined, screen: Option<&InkScreen>, window: Window, file: &str) -> String {
    let what = match screen {
        Some(screen) => format!(
            "the printing screen in {}",
            words::ink_name(&format!("{:?}", screen.ink))
        ),
        None => "where most printed edge lies".to_owned(),
    };
    let width = examined.inked.px_per_mm().map_or_else(
        || "width unknown, for there is no scale".to_owned(),
        |s| format!("{} mm wide", figures::number(window.width as f64 / s, 1)),
    );
    format!("Detail of {file}: {what}; {width}.")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::example;
    use ndarray::s;

    #[test]
    fn the_detail_lies_where_the_marks_are() {
        let mut examined = example::stipple().photos.remove(0);
        // All ink but a patch at the lower right is wiped off.
        let (rows, cols) = examined.inked.grey_density.dim();
        examined
            .inked
            .grey_density
            .slice_mut(s![..rows - 90, ..])
            .fill(0.0);
        examined
            .inked
            .grey_density
            .slice_mut(s![.., ..cols - 130])
            .fill(0.0);
        let window = best(&examined, (100, 75), |w| {
            edges(&examined.inked.grey_density, w)
        });
        assert!(
            window.left >= cols - 200 && window.top >= rows - 150,
            "{window:?}"
        );
        let detail = of(&examined, "a.png");
        let address = detail.pictures.detail.unwrap();
        assert!(address.starts_with("data:image/jpeg;base64,"));
        assert!(
            detail
                .pictures
                .detail_caption
                .is_some_and(|c| c.contains("mm wide"))
        );
    }

    #[test]
    fn a_swing_is_measured_at_its_own_frequency() {
        let f = [0.11, 0.04];
        let plane = Plane::from_shape_fn((120, 150), |(y, x)| {
            0.4 + 0.3 * (TAU * (f[0] * x as f64 + f[1] * y as f64)).cos() as f32
        });
        let window = Window {
            left: 10,
            top: 20,
            width: 100,
            height: 75,
        };
        assert!((swing(&plane, f, window) - 0.15).abs() < 0.01);
        assert!(swing(&plane, [0.2, 0.1], window) < 0.02);
    }

    #[test]
    fn places_are_few_and_reach_the_edges() {
        let (across, down) = places(200, 3);
        assert!(across * down <= MOST_PLACES && across > 1);
        assert_eq!(starts(90, 4).collect::<Vec<_>>(), [0, 30, 60, 90]);
        assert_eq!(starts(9, 1).collect::<Vec<_>>(), [4]);
        assert_eq!(places(0, 0), (1, 1));
    }
}
