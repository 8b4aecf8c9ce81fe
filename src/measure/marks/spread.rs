//! Where the dots lie: the marked area, and how evenly, closely and in what order they lie in it.

use super::MIN_MARKS;
use crate::ink::Inked;
use crate::measure::points::pairs::PairCorrelation;
use crate::measure::points::region::Cells;
use crate::measure::points::{ClarkEvans, LocalEvenness, Neighbours, Point, Region};
use crate::measure::segment::{Mark, Segments};
use crate::measured::{Measured, NotMeasured};
use crate::rank::median;
use image::{GrayImage, Luma};
use imageproc::distance_transform::euclidean_squared_distance_transform;
use ndarray::parallel::prelude::*;
use ndarray::{Array2, Axis};

/// How the dots are spread.
#[derive(Clone, Debug, PartialEq)]
pub struct Spread {
    /// Area that holds dots, px².
    pub area_px: f64,
    /// Dots in it.
    pub dots_inside: usize,
    /// Ink in it, px².
    pub ink_px: f64,
    /// Clark–Evans index, Donnelly's correction.
    pub clark_evans: Measured,
    /// Index against the local density.
    pub local_evenness: Measured,
    /// Distance at which pair correlation reaches one half, in mean spacings.
    pub kept_distance: Measured,
    /// Highest pair correlation.
    pub pair_peak: Measured,
    /// How much better dots are predicted straight on than sideways.
    pub row_order: Measured,
}

impl Spread {
    fn missing(reason: &NotMeasured) -> Self {
        let none = || Measured::from(reason.clone());
        Self {
            area_px: 0.0,
            dots_inside: 0,
            ink_px: 0.0,
            clark_evans: none(),
            local_evenness: none(),
            kept_distance: none(),
            pair_peak: none(),
            row_order: none(),
        }
    }

    /// Share of the usable field that holds dots.
    #[must_use]
    pub fn marked_share(&self, usable_px: usize) -> Measured {
        if self.area_px <= 0.0 || usable_px == 0 {
            return Measured::missing("no part of the field holds enough dots");
        }
        let value = (self.area_px / usable_px as f64).min(1.0);
        // The border of the area is known to about half a spacing: its perimeter is of the order
        // of √(n) spacings for n dots, hence 1/√n.
        let error = value / (self.dots_inside.max(1) as f64).sqrt();
        Measured::with_interval(
            value,
            (value - error).max(0.0),
            (value + error).min(1.0),
            "1",
            self.dots_inside,
        )
    }
}

/// Measures the spread of the dots.
#[must_use]
pub fn measure(inked: &Inked, segments: &Segments, dots: &[&Mark]) -> Spread {
    if dots.len() < MIN_MARKS {
        return Spread::missing(&NotMeasured::too_few("dots", dots.len(), MIN_MARKS));
    }
    let points: Vec<Point> = dots.iter().map(|m| [m.cx + 0.5, m.cy + 0.5]).collect();
    let neighbours = Neighbours::of(&points);
    let region = marked_region(inked, &points, &neighbours);
    let inside: Vec<Point> = points
        .iter()
        .copied()
        .filter(|&p| region.contains(p))
        .collect();
    if inside.len() < MIN_MARKS {
        return Spread::missing(&NotMeasured::too_few(
            "dots that lie together",
            inside.len(),
            MIN_MARKS,
        ));
    }
    let pairs = PairCorrelation::of(&inside, &region);
    Spread {
        area_px: region.area(),
        dots_inside: inside.len(),
        ink_px: ink_within(&region, segments),
        clark_evans: clark_evans(&inside, &region),
        local_evenness: local_evenness(&points, &neighbours),
        kept_distance: kept_distance(&pairs, &region, inside.len()),
        pair_peak: pair_peak(&pairs, inside.len()),
        row_order: row_order(&points, &neighbours),
    }
}

/// Ink in a region, px²: of a mark that reaches beyond it, such as an outline or hatching that hangs together, the part
/// that lies within.
fn ink_within(region: &Region, segments: &Segments) -> f64 {
    // A mark's area is that inside its contour, not its number of pixels; each pixel holds its share.
    let of_a_pixel: Vec<f64> = segments
        .marks
        .iter()
        .map(|mark| mark.area_px / mark.pixels.max(1) as f64)
        .collect();
    let rows: Vec<f64> = segments
        .labels
        .axis_iter(Axis(0))
        .into_par_iter()
        .enumerate()
        .map(|(y, row)| {
            let inked = row.iter().enumerate().filter(|(_, label)| **label > 0);
            inked
                .filter(|&(x, _)| region.contains([x as f64 + 0.5, y as f64 + 0.5]))
                .filter_map(|(_, &label)| of_a_pixel.get(label as usize - 1))
                .sum()
        })
        .collect();
    // Summed in the order of the rows, so that the sum is the same on any number of threads.
    rows.iter().sum()
}

/// Rank of the neighbour whose distance stands for the spacing of a cluster of dots.
const CLUSTER_RANK: usize = 4;
/// Times that distance up to which paper beside a dot belongs to the marked area.
const REACH: f64 = 1.5;
/// Part of that reach taken off again along the border with bare paper, so that the area ends
/// about half a spacing outside the last dots.
const TAKEN_BACK: f64 = 0.7;
/// Cells per reach.
const CELLS_PER_REACH: f64 = 4.0;
/// Most cells along a side.
const MAX_CELLS: f64 = 384.0;

/// The area that holds dots: what lies near enough to a dot, closed over gaps, less what is not
/// usable.
fn marked_region(inked: &Inked, points: &[Point], neighbours: &Neighbours) -> Region {
    let (height, width) = inked.usable.dim();
    let spacing =
        (0..points.len()).filter_map(|i| neighbours.nearest(i, CLUSTER_RANK).last().map(|n| n.1));
    let reach = REACH * median(spacing).unwrap_or(0.0);
    let side = (reach / CELLS_PER_REACH)
        .max(width.max(height) as f64 / MAX_CELLS)
        .max(1.0);
    let grid = (
        (height as f64 / side).ceil() as usize,
        (width as f64 / side).ceil() as usize,
    );
    let near = near_points(points, side, grid, reach / side);
    let far_from_bare = farther_than(&near, TAKEN_BACK * reach / side);
    let inside = Array2::from_shape_fn(grid, |(y, x)| {
        let middle = |i: usize, n: usize| (((i as f64 + 0.5) * side) as usize).min(n - 1);
        far_from_bare[[y, x]] && inked.usable[[middle(y, height), middle(x, width)]]
    });
    Region::Cells(Cells::new(inside, side))
}

fn near_points(points: &[Point], side: f64, grid: (usize, usize), reach: f64) -> Array2<bool> {
    let mut occupied = GrayImage::new(grid.1 as u32, grid.0 as u32);
    for p in points {
        let x = ((p[0] / side) as usize).min(grid.1 - 1);
        let y = ((p[1] / side) as usize).min(grid.0 - 1);
        occupied.put_pixel(x as u32, y as u32, Luma([255]));
    }
    let squared = euclidean_squared_distance_transform(&occupied);
    Array2::from_shape_fn(grid, |(y, x)| {
        squared.get_pixel(x as u32, y as u32).0[0] <= reach * reach
    })
}

/// Cells farther than `reach` cells from every cell that is not set; the frame's edge is no limit.
fn farther_than(set: &Array2<bool>, reach: f64) -> Array2<bool> {
    if set.iter().all(|&s| s) {
        return set.clone();
    }
    let bare = GrayImage::from_fn(set.ncols() as u32, set.nrows() as u32, |x, y| {
        Luma([if set[[y as usize, x as usize]] {
            0
        } else {
            255
        }])
    });
    let squared = euclidean_squared_distance_transform(&bare);
    Array2::from_shape_fn(set.dim(), |(y, x)| {
        squared.get_pixel(x as u32, y as u32).0[0] > reach * reach
    })
}

fn clark_evans(points: &[Point], region: &Region) -> Measured {
    ClarkEvans::of(points, region.area(), region.perimeter()).map_or_else(
        || Measured::missing("the marked area is too small"),
        |index| Measured::with_standard_error(index.corrected, index.standard_error, "1", index.n),
    )
}

fn local_evenness(points: &[Point], neighbours: &Neighbours) -> Measured {
    LocalEvenness::of(points, neighbours).map_or_else(
        || Measured::missing("too few dots have others on all sides"),
        |local| Measured::with_standard_error(local.index, local.standard_error, "1", local.n),
    )
}

fn kept_distance(pairs: &PairCorrelation, region: &Region, n: usize) -> Measured {
    const HALF: f64 = 0.5;
    let spacing = (region.area() / n as f64).sqrt();
    let Some(distance) = pairs.reaches(HALF) else {
        return Measured::missing("no distance between dots is common");
    };
    // The kernel alone blurs the curve by its half-width; n dots fix its place in the kernel.
    let error = super::super::points::pairs::STOYAN / (n as f64 / 100.0).sqrt().max(1.0);
    let value = distance / spacing;
    Measured::with_interval(
        value,
        (value - error).max(0.0),
        value + error,
        "spacings",
        n,
    )
}

fn pair_peak(pairs: &PairCorrelation, n: usize) -> Measured {
    // Pairs within the kernel at about one spacing: n/2 · 2π · 2 · 0.15.
    let pairs_there = n as f64 * std::f64::consts::PI * 2.0 * super::super::points::pairs::STOYAN;
    pairs.peak().map_or_else(
        || Measured::missing("too few dots"),
        |(_, g)| Measured::with_standard_error(g, (g / pairs_there).sqrt(), "1", n),
    )
}

/// From each dot a step to its nearest neighbour, taken again straight on and to both sides; how
/// far the next dot lies from each of the three places.
fn row_order(points: &[Point], neighbours: &Neighbours) -> Measured {
    let misses: Vec<(f64, f64)> = (0..points.len())
        .filter_map(|i| {
            let (j, _) = *neighbours.nearest(i, 1).first()?;
            let (p, q) = (points[i], points[j]);
            let step = [p[0] - q[0], p[1] - q[1]];
            let miss = |dx: f64, dy: f64| {
                neighbours
                    .nearest_to([p[0] + dx, p[1] + dy], 1, Some(i))
                    .first()
                    .map(|n| n.1)
            };
            let ahead = miss(step[0], step[1])?;
            let aside = 0.5 * (miss(-step[1], step[0])? + miss(step[1], -step[0])?);
            Some((ahead, aside))
        })
        .collect();
    let n = misses.len() as f64;
    let (ahead, aside) = misses
        .iter()
        .fold((0.0, 0.0), |sum, m| (sum.0 + m.0, sum.1 + m.1));
    if misses.len() < MIN_MARKS || aside <= 0.0 {
        return NotMeasured::too_few("dots with neighbours", misses.len(), MIN_MARKS).into();
    }
    let ratio = ahead / aside;
    let scatter: f64 = misses
        .iter()
        .map(|m| (m.0 - ratio * m.1) * (m.0 - ratio * m.1))
        .sum();
    // Neighbouring dots look at the same third dot: about two share each.
    let error = (2.0 * scatter).sqrt() / aside;
    Measured::with_standard_error(1.0 - ratio, error.min(n), "1", misses.len())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measure::marks::dots_of;
    use crate::measure::segment::{self, tests::inked_from};
    use crate::plane::Plane;

    /// Dots of 6 px radius on the left, one in each mesh of a net of lines 4 px broad that covers all of the field: its
    /// centre of mass lies beyond the dots.
    fn cover_where_dots_are(mirrored: bool) -> f64 {
        let (height, width) = (400, 800);
        let light = Plane::from_shape_fn((height, width), |(y, x)| {
            let x = if mirrored { width - 1 - x } else { x };
            let in_line = y % 40 < 4 || x % 40 < 4;
            let (u, v) = ((x % 40) as f64 - 21.5, (y % 40) as f64 - 21.5);
            let in_dot = x < 320 && u.hypot(v) < 6.0;
            if in_line || in_dot { 0.1 } else { 1.0 }
        });
        let inked = inked_from([light.clone(), light.clone(), light], Some(50.0));
        let segments = segment::find(&inked);
        let spread = measure(&inked, &segments, &dots_of(&segments.marks));
        spread.ink_px / spread.area_px
    }

    #[test]
    fn a_net_of_lines_counts_by_what_lies_among_the_dots() {
        // Of 40 × 40 px the lines take 2 · 4 · 40 − 4 · 4 and the dot π · 6².
        let drawn = (304.0 + std::f64::consts::PI * 36.0) / 1600.0;
        for mirrored in [false, true] {
            let found = cover_where_dots_are(mirrored);
            approx::assert_relative_eq!(found, drawn, max_relative = 0.06);
        }
    }
}
