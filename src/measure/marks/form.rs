//! Form of the wider marks: whether they are whole blobs or networks, and whether neighbours point one way.

use crate::measure::points::{Neighbours, Point};
use crate::measure::segment::{Mark, Segments};
use crate::measured::{Measured, NotMeasured, Z95};

/// Fewest pixels of a mark whose form is told: on fewer the pixel grid itself makes hollows.
const MIN_PIXELS: usize = 40;
/// Least width, in blurs: under it blur fills the hollows of an outline.
const MIN_WIDTH_BLURS: f64 = 3.0;
/// Fewest marks for a figure.
const MIN_MARKS: usize = 15;
/// Length over width from which a mark has a direction.
const LONG: f64 = 1.3;
/// Neighbours whose direction is compared.
const NEIGHBOURS: usize = 4;

/// Dots wide enough to show their form, with their labels. `dots` are in the order of the marks.
fn wide<'a>(dots: &[&'a Mark], segments: &Segments) -> Vec<(u32, &'a Mark)> {
    let least = MIN_WIDTH_BLURS * f64::from(segments.blur.sigma_px);
    let mut labels = (1_u32..).zip(&segments.marks);
    dots.iter()
        .filter_map(|dot| {
            let (label, _) = labels.find(|(_, mark)| std::ptr::eq(*mark, *dot))?;
            (dot.pixels >= MIN_PIXELS && dot.minor_px >= least).then_some((label, *dot))
        })
        .collect()
}

/// Solidity (area over that of the convex hull) below which half, and a quarter, of the ink of the wider
/// dots lies; 1 = no hollows.
#[must_use]
pub fn solidity(segments: &Segments, dots: &[&Mark]) -> [Measured; 2] {
    let wide = wide(dots, segments);
    if wide.len() < MIN_MARKS {
        return [0, 1].map(|_| NotMeasured::too_few("wide dots", wide.len(), MIN_MARKS).into());
    }
    let mut of_marks: Vec<(f64, f64)> = wide
        .iter()
        .map(|&(label, m)| (solidity_of(segments, label, m), m.pixels as f64))
        .collect();
    of_marks.sort_by(|a, b| a.0.total_cmp(&b.0));
    let ink: f64 = of_marks.iter().map(|m| m.1).sum();
    let squares: f64 = of_marks.iter().map(|m| m.1 * m.1).sum();
    // Marks of unequal weight count as fewer (Kish's effective size).
    let n = ink * ink / squares;
    let below = |share: f64| {
        let mut sum = 0.0;
        let reached = of_marks.iter().find(|m| {
            sum += m.1;
            sum >= share * ink
        });
        reached.map_or(1.0, |m| m.0)
    };
    [0.5, 0.25].map(|share: f64| {
        let error = Z95 * (share * (1.0 - share) / n).sqrt();
        Measured::with_interval(
            below(share),
            below((share - error).max(0.0)),
            below((share + error).min(1.0)),
            "1",
            wide.len(),
        )
    })
}

fn solidity_of(segments: &Segments, label: u32, mark: &Mark) -> f64 {
    let hull = hull_of(segments, label, mark);
    (mark.pixels as f64 / hull.max(1.0)).min(1.0)
}

/// Area of the convex hull of the mark's pixels, px².
fn hull_of(segments: &Segments, label: u32, mark: &Mark) -> f64 {
    let [left, top, right, bottom] = mark.bbox;
    let mut corners: Vec<[f64; 2]> = Vec::with_capacity(4 * (bottom - top + 1));
    for y in top..=bottom {
        let row = segments.labels.row(y);
        let is = |x: &usize| row[*x] == label;
        let ends = ((left..=right).find(is), (left..=right).rev().find(is));
        if let (Some(first), Some(last)) = ends {
            for edge in [y, y + 1] {
                corners.push([first as f64, edge as f64]);
                corners.push([(last + 1) as f64, edge as f64]);
            }
        }
    }
    area(&convex_hull(corners))
}

/// Corners of the convex hull in order. Source: A. M. Andrew's monotone chain (1979), from memory.
fn convex_hull(mut points: Vec<[f64; 2]>) -> Vec<[f64; 2]> {
    points.sort_by(|a, b| a[0].total_cmp(&b[0]).then(a[1].total_cmp(&b[1])));
    points.dedup();
    let turns = |o: [f64; 2], a: [f64; 2], b: [f64; 2]| {
        (a[0] - o[0]) * (b[1] - o[1]) - (a[1] - o[1]) * (b[0] - o[0])
    };
    let half = |points: &mut dyn Iterator<Item = [f64; 2]>| {
        let mut chain: Vec<[f64; 2]> = Vec::new();
        for p in points {
            while chain.len() >= 2
                && turns(chain[chain.len() - 2], chain[chain.len() - 1], p) <= 0.0
            {
                chain.pop();
            }
            chain.push(p);
        }
        chain.pop();
        chain
    };
    let mut hull = half(&mut points.iter().copied());
    hull.extend(half(&mut points.iter().rev().copied()));
    hull
}

fn area(corners: &[[f64; 2]]) -> f64 {
    let n = corners.len();
    let twice: f64 = (0..n)
        .map(|i| {
            let (a, b) = (corners[i], corners[(i + 1) % n]);
            a[0] * b[1] - b[0] * a[1]
        })
        .sum();
    0.5 * twice.abs()
}

/// Mean cosine of twice the angle between long dots and their nearest long neighbours: 1 = all point one
/// way, 0 = any way, below 0 = crosswise.
#[must_use]
pub fn alignment(segments: &Segments, dots: &[&Mark]) -> Measured {
    let long: Vec<&Mark> = wide(dots, segments)
        .into_iter()
        .map(|(_, m)| m)
        .filter(|m| m.elongation() >= LONG)
        .collect();
    if long.len() < MIN_MARKS {
        return NotMeasured::too_few("long dots", long.len(), MIN_MARKS).into();
    }
    let points: Vec<Point> = long.iter().map(|m| [m.cx, m.cy]).collect();
    let neighbours = Neighbours::of(&points);
    let alike: Vec<f64> = (0..long.len())
        .map(|i| {
            let near = neighbours.nearest(i, NEIGHBOURS);
            let sum: f64 = near
                .iter()
                .map(|&(j, _)| {
                    let turn = long[i].orientation_deg - long[j].orientation_deg;
                    (2.0 * turn).to_radians().cos()
                })
                .sum();
            sum / near.len().max(1) as f64
        })
        .collect();
    let n = alike.len() as f64;
    let mean = alike.iter().sum::<f64>() / n;
    let variance = alike.iter().map(|a| (a - mean).powi(2)).sum::<f64>() / (n - 1.0);
    // Each pair is seen from both ends, so about half of them are independent.
    Measured::with_standard_error(mean, (2.0 * variance / n).sqrt(), "1", alike.len())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measure::segment::{self, tests::inked_from};
    use crate::plane::Plane;
    use approx::assert_abs_diff_eq;

    /// Marks of one form in a grid of 40 px, one form a place.
    fn marks(inside: impl Fn(usize, f64, f64) -> bool) -> Segments {
        let plane = Plane::from_shape_fn((400, 480), |(y, x)| {
            let (place, dy, dx) = ((y / 40) * 12 + x / 40, y % 40, x % 40);
            let at = [dx as f64 - 19.5, dy as f64 - 19.5];
            if inside(place, at[0], at[1]) {
                0.1
            } else {
                0.8
            }
        });
        segment::find(&inked_from([plane.clone(), plane.clone(), plane], None))
    }

    fn all(segments: &Segments) -> Vec<&Mark> {
        segments.marks.iter().collect()
    }

    #[test]
    fn discs_are_solid_and_crosses_are_not() {
        let discs = marks(|_, x, y| x.hypot(y) < 10.0);
        let [middle, _] = solidity(&discs, &all(&discs));
        // A disc of pixels has steps in its outline.
        assert!(middle.value().unwrap() > 0.94, "{middle:?}");
        // Arms 24 long and 8 wide: area 320, hull an octagon of 448.
        let crosses =
            marks(|_, x, y| (x.abs() < 12.0 && y.abs() < 4.0) || (y.abs() < 12.0 && x.abs() < 4.0));
        let [middle, low] = solidity(&crosses, &all(&crosses));
        assert_abs_diff_eq!(middle.value().unwrap(), 320.0 / 448.0, epsilon = 0.04);
        assert_abs_diff_eq!(low.value().unwrap(), 320.0 / 448.0, epsilon = 0.04);
    }

    #[test]
    fn flicks_that_point_one_way_are_aligned_and_crossed_ones_are_not() {
        let long = |x: f64, y: f64| (x / 13.0).hypot(y / 5.0) < 1.0;
        let one_way = marks(|_, x, y| long(x, y));
        assert!(alignment(&one_way, &all(&one_way)).value().unwrap() > 0.98);
        let chequered = marks(|place, x, y| {
            let turned = (place / 12 + place % 12) % 2 == 0;
            if turned { long(y, x) } else { long(x, y) }
        });
        assert!(alignment(&chequered, &all(&chequered)).value().unwrap() < -0.6);
    }

    #[test]
    fn hull_of_a_square_with_a_point_inside() {
        let hull = convex_hull(vec![
            [0.0, 0.0],
            [2.0, 0.0],
            [1.0, 1.0],
            [2.0, 2.0],
            [0.0, 2.0],
            [1.0, 0.0],
        ]);
        assert_eq!(hull.len(), 4);
        assert_abs_diff_eq!(area(&hull), 4.0);
    }
}
