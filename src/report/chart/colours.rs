//! Scatter of the colour of the ink against that of the ground it stands on.

use super::Chart;
use super::axis::{Axis, at, below, beside};
use crate::measure::layering::{Layering, Point};
use crate::measured::Measured;
use crate::report::words::standing;
use maud::{Markup, html};

const TITLE: &str = "Where the colour lies";
/// Least reach of both axes: keeps noise on a print in black from looking like colour.
const LEAST_REACH: [f64; 2] = [0.3, 0.6];
/// Room beyond the outermost point.
const ROOM: f64 = 1.05;

/// The scatter; missing where the ink's hue was not measured.
#[must_use]
pub fn draw(layering: &Layering) -> Chart {
    if layering.points.is_empty() {
        let why = match &layering.ink_hue {
            Measured::Missing(reason) => reason.not_measured.clone(),
            Measured::Figure(_) => "no patches of ink were kept".into(),
        };
        return Chart::Missing { title: TITLE, why };
    }
    Chart::Drawn {
        title: TITLE,
        aid: standing::LAYERING_AID,
        svg: scatter(&layering.points),
    }
}

fn scatter(points: &[Point]) -> Markup {
    let reach = |least: f64, of: fn(&Point) -> f64| {
        points.iter().map(|p| ROOM * of(p)).fold(least, f64::max)
    };
    let across = Axis::new(0.0, reach(LEAST_REACH[0], |p| p.ground), 64.0, 540.0);
    let up = Axis::new(0.0, reach(LEAST_REACH[1], |p| p.ink), 260.0, 16.0);
    html! {
        svg viewBox="0 0 560 304" role="img" aria-label=(TITLE) {
            @for point in points {
                circle class="point" cx=(at(across.place(point.ground))) cy=(at(up.place(point.ink))) r="3" {}
            }
            (below(&across, 260.0, "colour of the ground over bare paper (optical density)"))
            (beside(&up, 64.0, "colour of the ink (0 = neutral)"))
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn points_stand_where_their_colours_put_them() {
        let point = |ground, ink| Point {
            at_px: [0.0; 2],
            ground,
            ink,
        };
        let svg = scatter(&[point(0.0, 0.0), point(0.3, 0.6)]).into_string();
        assert!(svg.contains(r#"cx="64" cy="260""#), "{svg}");
        // The outermost point keeps the room beyond it.
        assert!(svg.contains(r#"cx="517.33""#), "{svg}");
    }
}
