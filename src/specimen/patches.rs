//! Connected printed patches of a cover plane, counted for the truth of a sheet.

use super::sheet::MarksTruth;
use crate::plane::Plane;

/// Cover from which a pixel counts as printed.
const PRINTED: f32 = 0.5;
/// Smaller patches are the raster's own specks, not marks.
const LEAST_PX: u32 = 2;

/// Truth of the marks: patches of at least two pixels with cover ≥ 0.5, joined over edges and
/// corners. All figures are 0 where nothing is printed.
#[must_use]
pub fn marks_of(cover: &Plane, px_per_mm: f64) -> MarksTruth {
    let areas = areas_px(cover);
    let printed = cover.iter().filter(|&&a| a >= PRINTED).count();
    let share = printed as f64 / cover.len().max(1) as f64;
    let sheet_mm2 = cover.len().max(1) as f64 / (px_per_mm * px_per_mm);
    marks_from(areas, share, px_per_mm, sheet_mm2)
}

/// Truth of marks with the given areas (px), on `field_mm2` of sheet of which `coverage` is printed.
#[must_use]
pub fn marks_from(
    mut areas: Vec<u32>,
    coverage: f64,
    px_per_mm: f64,
    field_mm2: f64,
) -> MarksTruth {
    areas.retain(|&area| area >= LEAST_PX);
    areas.sort_unstable();
    let diameter_um = |share: f64| {
        let at = (share * areas.len() as f64) as usize;
        let area = areas.get(at.min(areas.len().saturating_sub(1)));
        let area = area.copied().unwrap_or(0);
        1000.0 * (4.0 * f64::from(area) / std::f64::consts::PI).sqrt() / px_per_mm
    };
    MarksTruth {
        count: areas.len(),
        density_per_mm2: areas.len() as f64 / field_mm2,
        diameter_um: [0.1, 0.5, 0.9].map(diameter_um),
        coverage,
    }
}

/// Whether a cover counts as printed.
#[must_use]
pub fn is_printed(cover: f32) -> bool {
    cover >= PRINTED
}

/// One connected printed patch.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Patch {
    /// Area, px.
    pub area_px: u32,
    /// Centre of gravity, px, x then y.
    pub centre_px: [f64; 2],
}

/// Areas in px of all connected patches, in the order of their first pixel.
fn areas_px(cover: &Plane) -> Vec<u32> {
    found(cover).iter().map(|patch| patch.area_px).collect()
}

/// All connected patches, in the order of their first pixel.
#[must_use]
pub fn found(cover: &Plane) -> Vec<Patch> {
    let mut forest = Forest::default();
    let mut above: Vec<Run> = Vec::new();
    for (y, row) in cover.rows().into_iter().enumerate() {
        let mut here = runs_of(y, row.iter().copied(), &mut forest);
        join_to_row_above(&mut here, &above, &mut forest);
        above = here;
    }
    forest.patches()
}

/// A stretch of printed pixels in one row, `from..to`.
#[derive(Clone, Copy)]
struct Run {
    from: usize,
    to: usize,
    label: usize,
}

fn runs_of(y: usize, row: impl Iterator<Item = f32>, forest: &mut Forest) -> Vec<Run> {
    let mut runs: Vec<Run> = Vec::new();
    for (x, a) in row.enumerate() {
        if a < PRINTED {
            continue;
        }
        match runs.last_mut() {
            Some(run) if run.to == x => run.to = x + 1,
            _ => runs.push(Run {
                from: x,
                to: x + 1,
                label: forest.plant(),
            }),
        }
    }
    for run in &runs {
        let count = (run.to - run.from) as u32;
        forest.area[run.label] += count;
        // The mean x of from..to is (from + to − 1) / 2.
        let x = (run.from + run.to - 1) as f64 / 2.0;
        forest.add_to_sums(
            run.label,
            [f64::from(count) * x, f64::from(count) * y as f64],
        );
    }
    runs
}

/// Both lists are sorted, so one pass with two pointers meets every touching pair.
fn join_to_row_above(here: &mut [Run], above: &[Run], forest: &mut Forest) {
    let mut first = 0;
    for run in here {
        while first < above.len() && above[first].to < run.from {
            first += 1;
        }
        for over in above[first..].iter().take_while(|o| o.from <= run.to) {
            forest.join(over.label, run.label);
        }
    }
}

/// Union–find over labels, with the area and the sums of x and y carried by the root.
#[derive(Default)]
struct Forest {
    parent: Vec<usize>,
    area: Vec<u32>,
    sums: Vec<[f64; 2]>,
}

impl Forest {
    fn plant(&mut self) -> usize {
        self.parent.push(self.parent.len());
        self.area.push(0);
        self.sums.push([0.0; 2]);
        self.parent.len() - 1
    }

    fn root(&mut self, mut label: usize) -> usize {
        while self.parent[label] != label {
            self.parent[label] = self.parent[self.parent[label]];
            label = self.parent[label];
        }
        label
    }

    fn join(&mut self, a: usize, b: usize) {
        let (a, b) = (self.root(a), self.root(b));
        if a != b {
            let (keep, drop) = (a.min(b), a.max(b));
            self.parent[drop] = keep;
            self.area[keep] += self.area[drop];
            self.add_to_sums(keep, self.sums[drop]);
        }
    }

    fn add_to_sums(&mut self, label: usize, [x, y]: [f64; 2]) {
        self.sums[label][0] += x;
        self.sums[label][1] += y;
    }

    fn patches(&self) -> Vec<Patch> {
        (0..self.parent.len())
            .filter(|&i| self.parent[i] == i)
            .map(|i| Patch {
                area_px: self.area[i],
                centre_px: self.sums[i].map(|sum| sum / f64::from(self.area[i].max(1))),
            })
            .collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use rand::{RngExt, SeedableRng};
    use rand_chacha::ChaCha8Rng;

    /// Slow and obvious: flood fill from every printed pixel.
    fn flooded_areas(cover: &Plane) -> Vec<u32> {
        let (h, w) = cover.dim();
        let mut left = cover.mapv(|a| a >= PRINTED);
        let mut areas = Vec::new();
        for y in 0..h {
            for x in 0..w {
                let mut stack = vec![(y, x)];
                let mut area = 0;
                while let Some((y, x)) = stack.pop() {
                    if !left[[y, x]] {
                        continue;
                    }
                    left[[y, x]] = false;
                    area += 1;
                    for v in y.saturating_sub(1)..(y + 2).min(h) {
                        for u in x.saturating_sub(1)..(x + 2).min(w) {
                            stack.push((v, u));
                        }
                    }
                }
                if area > 0 {
                    areas.push(area);
                }
            }
        }
        areas
    }

    #[test]
    fn patches_agree_with_flood_filling() {
        let mut rng = ChaCha8Rng::seed_from_u64(3);
        for share in [0.02, 0.3, 0.42, 0.6, 0.97] {
            let cover = Plane::from_shape_simple_fn((47, 31), || {
                f32::from(u8::from(rng.random_bool(share)))
            });
            let (mut fast, mut slow) = (areas_px(&cover), flooded_areas(&cover));
            fast.sort_unstable();
            slow.sort_unstable();
            assert_eq!(fast, slow);
        }
    }

    #[test]
    fn figures_of_two_known_squares() {
        let mut cover = Plane::zeros((20, 30));
        cover.slice_mut(ndarray::s![2..4, 3..5]).fill(1.0);
        cover.slice_mut(ndarray::s![10..14, 20..24]).fill(0.8);
        let marks = marks_of(&cover, 10.0);
        assert_eq!(marks.count, 2);
        assert!((marks.density_per_mm2 - 2.0 / 6.0).abs() < 1e-12);
        assert!((marks.coverage - 20.0 / 600.0).abs() < 1e-12);
        // 4 px at 10 px/mm: 1000 · √(16 / π) / 10 µm.
        assert!((marks.diameter_um[0] - 225.676).abs() < 0.01);
    }

    #[test]
    fn centres_of_two_known_squares() {
        let mut cover = Plane::zeros((20, 30));
        cover.slice_mut(ndarray::s![2..4, 3..5]).fill(1.0);
        cover.slice_mut(ndarray::s![10..14, 20..24]).fill(0.8);
        let centres: Vec<[f64; 2]> = found(&cover).iter().map(|p| p.centre_px).collect();
        assert_eq!(centres, [[3.5, 2.5], [21.5, 11.5]]);
    }

    #[test]
    fn nothing_printed_gives_zeros() {
        let marks = marks_of(&Plane::zeros((5, 1)), 20.0);
        assert_eq!((marks.count, marks.coverage), (0, 0.0));
        assert_eq!(marks.diameter_um, [0.0; 3]);
        assert_eq!(marks_of(&Plane::zeros((0, 0)), 20.0).count, 0);
    }
}
