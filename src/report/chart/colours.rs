//! Scatter of the colour of the ink against that of the ground it stands on.

use super::Chart;
use super::axis::{Axis, at, below, beside};
use crate::measure::layering::{Layering, Point};
use crate::measured::Measured;
use crate::report::words::{self, standing};
use maud::{Markup, html};

const TITLE: &str = "Where the colour lies";
/// Least reach of the axes of ground and ink: twice the hue from which ground counts as washed, and some
/// three times what black ink scatters by. Keeps noise on a print in black from looking like colour.
const LEAST_REACH: [f64; 2] = [0.08, 0.3];
/// Room beyond the outermost point.
const ROOM: f64 = 1.05;
/// Share of the points that an axis is made for, where the few beyond would squeeze them.
const SHOWN_SHARE: f64 = 0.98;
/// Outermost point over that share's from which it would.
const SQUEEZED: f64 = 1.5;

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
        title: TITLE.into(),
        aid: standing::LAYERING_AID,
        svg: scatter(&layering.points),
    }
}

fn scatter(points: &[Point]) -> Markup {
    let across = Axis::new(
        0.0,
        reach(points, LEAST_REACH[0], |p| p.ground),
        64.0,
        540.0,
    );
    let up = Axis::new(0.0, reach(points, LEAST_REACH[1], |p| p.ink), 260.0, 16.0);
    let beyond = points
        .iter()
        .filter(|p| !across.holds(p.ground) || !up.holds(p.ink))
        .count();
    html! {
        svg viewBox="0 0 560 304" role="img" aria-label=(TITLE) {
            @for point in points {
                circle class="point" cx=(at(across.place(point.ground))) cy=(at(up.place(point.ink))) r="3" {}
            }
            @if beyond > 0 {
                text class="note" x="540" y="12" text-anchor="end" {
                    (words::counted(beyond, "point")) " farther out, drawn at the edge"
                }
            }
            (below(&across, 260.0, "colour of the ground over bare paper (optical density, D)"))
            (beside(&up, 64.0, "colour of the ink (1 = a pure hue)"))
        }
    }
}

/// How far an axis goes: to the outermost point, or where few lie far out, to the rest.
fn reach(points: &[Point], least: f64, of: fn(&Point) -> f64) -> f64 {
    let mut values: Vec<f64> = points.iter().map(of).filter(|v| v.is_finite()).collect();
    values.sort_by(f64::total_cmp);
    let last = values.len().saturating_sub(1);
    let at_share = (last as f64 * SHOWN_SHARE).ceil() as usize;
    let (Some(outermost), Some(rest)) = (values.last(), values.get(at_share)) else {
        return least;
    };
    // Points within the least reach squeeze nothing.
    let rest = (*rest).max(least / ROOM);
    let shown = if *outermost > SQUEEZED * rest {
        rest
    } else {
        *outermost
    };
    (ROOM * shown).max(least)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn point(ground: f64, ink: f64) -> Point {
        Point {
            at_px: [0.0; 2],
            ground,
            ink,
        }
    }

    #[test]
    fn points_stand_where_their_colours_put_them() {
        let svg = scatter(&[point(0.0, 0.0), point(0.3, 0.6)]).into_string();
        assert!(svg.contains(r#"cx="64" cy="260""#), "{svg}");
        // The outermost point keeps the room beyond it.
        assert!(svg.contains(r#"cx="517.33""#), "{svg}");
    }

    #[test]
    fn axes_go_as_far_as_the_points_and_not_to_a_few_strays() {
        let ground = |p: &Point| p.ground;
        let mut points: Vec<Point> = (0..200).map(|i| point(0.001 * f64::from(i), 0.1)).collect();
        assert!((reach(&points, 0.08, ground) - ROOM * 0.199).abs() < 1e-9);
        points.push(point(2.0, 0.1));
        assert!(reach(&points, 0.08, ground) < 0.22);
        let svg = scatter(&points).into_string();
        assert!(svg.contains("1 point farther out"), "{svg}");
        // On a print in black the axes stay long enough for noise to look like noise.
        assert!((reach(&points[..10], 0.08, ground) - 0.08).abs() < 1e-12);
        assert!((reach(&[], 0.08, ground) - 0.08).abs() < 1e-12);
    }
}
