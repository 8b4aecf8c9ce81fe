//! Area, perimeter, moments and density of each patch.

use super::Mark;
use super::edge::{Blur, HALF};
use crate::ink::Inked;
use crate::plane::{Plane, angle_deg};
use ndarray::Array2;
use rayon::prelude::*;

/// Measures every patch; `labels` holds 0 or 1…=`count`.
#[must_use]
pub fn measure(
    labels: &Array2<u32>,
    count: usize,
    cover: &Plane,
    blur: Blur,
    inked: &Inked,
) -> Vec<Mark> {
    let mut sums = vec![Sums::default(); count];
    add_runs(labels, cover, inked, &mut sums);
    add_contours(labels, cover, inked, &mut sums);
    sums.into_iter()
        .map(|sum| sum.into_mark(blur.left_px2()))
        .collect()
}

/// Running sums over one patch.
#[derive(Clone)]
struct Sums {
    n: f64,
    x: f64,
    y: f64,
    xx: f64,
    yy: f64,
    xy: f64,
    density: [f64; 3],
    peak: f32,
    area_over_count: f64,
    perimeter: f64,
    quads: f64,
    bbox: [usize; 4],
    cut: bool,
}

impl Default for Sums {
    fn default() -> Self {
        Self {
            n: 0.0,
            x: 0.0,
            y: 0.0,
            xx: 0.0,
            yy: 0.0,
            xy: 0.0,
            density: [0.0; 3],
            peak: 0.0,
            area_over_count: 0.0,
            perimeter: 0.0,
            quads: 0.0,
            bbox: [usize::MAX, usize::MAX, 0, 0],
            cut: false,
        }
    }
}

/// Pixels `left..right` of row `y` in one patch, with the summed densities over them.
struct LabelledRun {
    label: u32,
    y: usize,
    left: usize,
    right: usize,
    density: [f64; 3],
    peak: f32,
}

fn add_runs(labels: &Array2<u32>, cover: &Plane, inked: &Inked, sums: &mut [Sums]) {
    let rows: Vec<Vec<LabelledRun>> = (0..labels.nrows())
        .into_par_iter()
        .map(|y| runs_of_row(labels, cover, inked, y))
        .collect();
    for run in rows.iter().flatten() {
        if let Some(sum) = sums.get_mut(run.label as usize - 1) {
            sum.add(run);
        }
    }
}

fn runs_of_row(labels: &Array2<u32>, cover: &Plane, inked: &Inked, y: usize) -> Vec<LabelledRun> {
    let row = labels.row(y);
    let width = row.len();
    let mut runs = Vec::new();
    let mut x = 0;
    while x < width {
        let label = row[x];
        let left = x;
        while x < width && row[x] == label {
            x += 1;
        }
        if label > 0 {
            let density = std::array::from_fn(|channel| {
                let line = inked.density[channel].row(y);
                (left..x).map(|i| f64::from(line[i])).sum()
            });
            runs.push(LabelledRun {
                label,
                y,
                left,
                right: x,
                density,
                peak: (left..x).map(|i| cover[[y, i]]).fold(0.0, f32::max),
            });
        }
    }
    runs
}

impl Sums {
    fn add(&mut self, run: &LabelledRun) {
        let n = (run.right - run.left) as f64;
        let middle = 0.5 * (run.left + run.right - 1) as f64;
        let y = run.y as f64;
        let sum_x = n * middle;
        self.n += n;
        self.x += sum_x;
        self.y += n * y;
        self.xx += n * middle * middle + n * (n * n - 1.0) / 12.0;
        self.yy += n * y * y;
        self.xy += sum_x * y;
        for (total, part) in self.density.iter_mut().zip(run.density) {
            *total += part;
        }
        self.peak = self.peak.max(run.peak);
        self.bbox = [
            self.bbox[0].min(run.left),
            self.bbox[1].min(run.y),
            self.bbox[2].max(run.right - 1),
            self.bbox[3].max(run.y),
        ];
    }

    /// The area inside the contour at half the mark's darkest cover.
    ///
    /// Blur of variance σ² moves a contour of curvature κ inward by σ²κ/2, so a disc loses πσ². A
    /// mark that reaches full ink keeps that loss: light spreading in the paper and ink thinning
    /// towards its edge add about as much to what a photograph shows. A mark smaller than the
    /// blur holds only as much ink as its darkest cover says, and is given the loss back.
    fn area_px(&self, blur_px2: f64) -> f64 {
        let contour = (self.n + self.area_over_count).max(0.5);
        let peak = f64::from(self.peak.clamp(0.0, 1.0));
        peak * contour + (1.0 - peak) * std::f64::consts::PI * blur_px2
    }

    fn into_mark(self, blur_px2: f64) -> Mark {
        let holes = (1 - (self.quads / 4.0).round() as i64).max(0);
        let n = self.n.max(1.0);
        let (cx, cy) = (self.x / n, self.y / n);
        // A pixel is a unit square, not a point: its own second moment is 1/12.
        let xx = (self.xx / n - cx * cx).max(0.0) + 1.0 / 12.0;
        let yy = (self.yy / n - cy * cy).max(0.0) + 1.0 / 12.0;
        let xy = self.xy / n - cx * cy;
        let middle = 0.5 * (xx + yy);
        let spread = (0.25 * (xx - yy) * (xx - yy) + xy * xy).sqrt();
        let half_turn = 0.5 * (2.0 * xy).atan2(xx - yy);
        let orientation = angle_deg(half_turn.cos(), half_turn.sin()).rem_euclid(180.0);
        Mark {
            cx,
            cy,
            area_px: self.area_px(blur_px2),
            holes: holes as usize,
            pixels: self.n as usize,
            major_px: 4.0 * (middle + spread).sqrt(),
            minor_px: 4.0 * (middle - spread).max(0.0).sqrt(),
            orientation_deg: if orientation >= 180.0 {
                0.0
            } else {
                orientation
            },
            perimeter_px: self.perimeter,
            density: self.density.map(|sum| sum / n),
            bbox: self.bbox,
            cut: self.cut,
        }
    }
}

/// What one square between four pixel centres adds to one patch.
struct CellPart {
    label: u32,
    /// Area inside the contour, less a quarter for every corner pixel of the patch.
    area_over_count: f32,
    length: f32,
    /// Four times this square's part of the Euler number (8-connected bit quads).
    quads: i32,
    cut: bool,
}

fn add_contours(labels: &Array2<u32>, cover: &Plane, inked: &Inked, sums: &mut [Sums]) {
    let peaks: Vec<f32> = sums.iter().map(|s| s.peak.clamp(0.0, 1.0)).collect();
    let rows: Vec<Vec<CellPart>> = (0..=labels.nrows())
        .into_par_iter()
        .map(|y| cells_of_row(labels, cover, inked, &peaks, y))
        .collect();
    for part in rows.iter().flatten() {
        if let Some(sum) = sums.get_mut(part.label as usize - 1) {
            sum.area_over_count += f64::from(part.area_over_count);
            sum.perimeter += f64::from(part.length);
            sum.quads += f64::from(part.quads);
            sum.cut |= part.cut;
        }
    }
}

/// A corner of a cell: its label, its cover, and whether it can be measured at all.
#[derive(Clone, Copy)]
struct Corner {
    label: u32,
    cover: f32,
    usable: bool,
}

const OUTSIDE: Corner = Corner {
    label: 0,
    cover: 0.0,
    usable: false,
};

/// Cells whose lower right corner lies in row `y` (0 and `height` lie half outside the frame).
fn cells_of_row(
    labels: &Array2<u32>,
    cover: &Plane,
    inked: &Inked,
    peaks: &[f32],
    y: usize,
) -> Vec<CellPart> {
    let (height, width) = labels.dim();
    let upper = (y > 0).then(|| labels.row(y - 1));
    let lower = (y < height).then(|| labels.row(y));
    let corner = |row: Option<usize>, x: usize| match row {
        Some(y) if x < width => Corner {
            label: labels[[y, x]],
            cover: cover[[y, x]],
            usable: inked.usable[[y, x]],
        },
        _ => OUTSIDE,
    };
    let label_at = |row: &Option<ndarray::ArrayView1<u32>>, x: usize| {
        row.as_ref().and_then(|r| r.get(x).copied()).unwrap_or(0)
    };
    let mut parts = Vec::new();
    let (mut left_up, mut left_down) = (0, 0);
    for x in 0..=width {
        let (up, down) = (label_at(&upper, x), label_at(&lower, x));
        let alike = up == down && left_up == up && left_down == up;
        if !alike {
            let above = y.checked_sub(1);
            let here = (y < height).then_some(y);
            let before = x.checked_sub(1).unwrap_or(usize::MAX);
            let corners = [
                corner(above, before),
                corner(above, x),
                corner(here, x),
                corner(here, before),
            ];
            parts_of_cell(&corners, peaks, &mut parts);
        }
        (left_up, left_down) = (up, down);
    }
    parts
}

fn parts_of_cell(corners: &[Corner; 4], peaks: &[f32], parts: &mut Vec<CellPart>) {
    for i in 0..4 {
        let label = corners[i].label;
        if label > 0 && corners[..i].iter().all(|c| c.label != label) {
            let peak = peaks.get(label as usize - 1).copied().unwrap_or(1.0);
            parts.push(part_of_cell(corners, label, HALF * peak));
        }
    }
}

/// Marching square for one label, walking the cell's corners clockwise: the area on the label's
/// side and the length of the straight pieces that cut off the rest.
fn part_of_cell(corners: &[Corner; 4], label: u32, level: f32) -> CellPart {
    const AT: [(f32, f32); 4] = [(0.0, 0.0), (1.0, 0.0), (1.0, 1.0), (0.0, 1.0)];
    let inside = corners.map(|c| c.label == label);
    let mut outline: [(f32, f32); 8] = [(0.0, 0.0); 8];
    let mut points = 0;
    let mut crossings: [((f32, f32), bool); 4] = [((0.0, 0.0), false); 4];
    let mut crossed = 0;
    for i in 0..4 {
        let j = (i + 1) % 4;
        if inside[i] {
            outline[points] = AT[i];
            points += 1;
        }
        if inside[i] != inside[j] {
            let share = if inside[i] {
                crossing(corners[i], corners[j], level)
            } else {
                1.0 - crossing(corners[j], corners[i], level)
            };
            let at = (
                AT[i].0 + share * (AT[j].0 - AT[i].0),
                AT[i].1 + share * (AT[j].1 - AT[i].1),
            );
            outline[points] = at;
            points += 1;
            crossings[crossed] = (at, inside[i]);
            crossed += 1;
        }
    }
    let length = length_of_cuts(&crossings[..crossed]);
    let count = inside.iter().filter(|&&i| i).count() as f32;
    CellPart {
        label,
        area_over_count: polygon_area(&outline[..points]) - 0.25 * count,
        length,
        quads: euler_quarters(&inside),
        cut: corners.iter().any(|c| !c.usable),
    }
}

/// Where along the way from a pixel inside to one outside the cover passes `level`, 0–1;
/// half-way where the outer pixel is unusable or belongs to another patch.
fn crossing(inside: Corner, outside: Corner, level: f32) -> f32 {
    let fall = inside.cover - outside.cover;
    if !outside.usable || outside.label > 0 || fall <= 0.0 {
        return 0.5;
    }
    ((inside.cover - level) / fall).clamp(0.0, 1.0)
}

fn polygon_area(points: &[(f32, f32)]) -> f32 {
    let n = points.len();
    let twice: f32 = (0..n)
        .map(|i| {
            let (a, b) = (points[i], points[(i + 1) % n]);
            a.0 * b.1 - b.0 * a.1
        })
        .sum();
    0.5 * twice.abs()
}

/// Each way out of the patch is cut off by a straight piece to the next way in.
fn length_of_cuts(crossings: &[((f32, f32), bool)]) -> f32 {
    let n = crossings.len();
    (0..n)
        .filter(|&i| crossings[i].1)
        .map(|i| {
            let (a, b) = (crossings[i].0, crossings[(i + 1) % n].0);
            (a.0 - b.0).hypot(a.1 - b.1)
        })
        .sum()
}

/// Four times what a 2 × 2 quad adds to the Euler number under 8-connectivity.
/// Source: W. K. Pratt, Digital Image Processing, after S. B. Gray (1971), from memory.
fn euler_quarters(inside: &[bool; 4]) -> i32 {
    match inside.iter().filter(|&&i| i).count() {
        1 => 1,
        3 => -1,
        2 if inside[0] == inside[2] => -2,
        _ => 0,
    }
}
