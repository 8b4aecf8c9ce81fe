//! Joining covered pixels into patches: runs along rows, joined by union-find.

use crate::plane::Mask;
use ndarray::Array2;
use rayon::prelude::*;

/// The patches of a picture.
#[derive(Clone, Debug)]
pub struct Patches {
    /// 0 = none, 1… = patch, numbered in reading order of their first pixel.
    pub labels: Array2<u32>,
    /// How many patches.
    pub count: usize,
}

/// Pixels `left..right` of one row.
#[derive(Clone, Copy)]
struct Run {
    left: u32,
    right: u32,
}

/// Joins inked pixels that touch at a side or a corner; patches of fewer than `min_pixels` are
/// left out.
#[must_use]
pub fn join(inked: &Mask, min_pixels: usize) -> Patches {
    let rows = runs_by_row(inked);
    let offsets = offsets_of(&rows);
    let mut parent: Vec<u32> = (0..offsets.last().copied().unwrap_or(0) as u32).collect();
    for y in 1..rows.len() {
        join_rows(
            &rows[y - 1],
            offsets[y - 1],
            &rows[y],
            offsets[y],
            &mut parent,
        );
    }
    let (numbers, count) = number(&rows, &mut parent, min_pixels);
    Patches {
        labels: paint(inked.dim(), &rows, &offsets, &numbers),
        count,
    }
}

fn runs_by_row(inked: &Mask) -> Vec<Vec<Run>> {
    inked
        .outer_iter()
        .into_par_iter()
        .map(|row| {
            let mut runs = Vec::new();
            let mut start = None;
            for (x, &covered) in row.iter().enumerate() {
                match (covered, start) {
                    (true, None) => start = Some(x as u32),
                    (false, Some(left)) => {
                        runs.push(Run {
                            left,
                            right: x as u32,
                        });
                        start = None;
                    }
                    _ => {}
                }
            }
            if let Some(left) = start {
                runs.push(Run {
                    left,
                    right: row.len() as u32,
                });
            }
            runs
        })
        .collect()
}

/// Index of each row's first run in the list of all runs; one entry more than rows.
fn offsets_of(rows: &[Vec<Run>]) -> Vec<usize> {
    let mut offsets = vec![0];
    for row in rows {
        offsets.push(offsets[offsets.len() - 1] + row.len());
    }
    offsets
}

fn join_rows(above: &[Run], above_at: usize, below: &[Run], below_at: usize, parent: &mut [u32]) {
    let mut first = 0;
    for (i, run) in below.iter().enumerate() {
        while first < above.len() && above[first].right < run.left {
            first += 1;
        }
        let touching = above[first..].iter().take_while(|a| a.left <= run.right);
        for (k, _) in touching.enumerate() {
            unite(parent, above_at + first + k, below_at + i);
        }
    }
}

fn root(parent: &mut [u32], mut i: usize) -> usize {
    while parent[i] as usize != i {
        parent[i] = parent[parent[i] as usize];
        i = parent[i] as usize;
    }
    i
}

/// The earlier run becomes the root, so that patches are numbered in reading order.
fn unite(parent: &mut [u32], a: usize, b: usize) {
    let (a, b) = (root(parent, a), root(parent, b));
    parent[a.max(b)] = a.min(b) as u32;
}

/// Patch number of every run (0 = left out), and how many patches.
fn number(rows: &[Vec<Run>], parent: &mut [u32], min_pixels: usize) -> (Vec<u32>, usize) {
    let mut pixels = vec![0_usize; parent.len()];
    for (i, run) in rows.iter().flatten().enumerate() {
        pixels[root(parent, i)] += (run.right - run.left) as usize;
    }
    let mut numbers = vec![0_u32; parent.len()];
    let mut count = 0;
    for i in 0..parent.len() {
        let first = root(parent, i);
        if first < i {
            numbers[i] = numbers[first];
        } else if pixels[i] >= min_pixels {
            count += 1;
            numbers[i] = count;
        }
    }
    (numbers, count as usize)
}

fn paint(
    size: (usize, usize),
    rows: &[Vec<Run>],
    offsets: &[usize],
    numbers: &[u32],
) -> Array2<u32> {
    let mut labels = Array2::zeros(size);
    if let (Some(pixels), true) = (labels.as_slice_mut(), size.1 > 0) {
        pixels
            .par_chunks_mut(size.1)
            .enumerate()
            .for_each(|(y, row)| {
                for (run, &number) in rows[y].iter().zip(&numbers[offsets[y]..]) {
                    row[run.left as usize..run.right as usize].fill(number);
                }
            });
    }
    labels
}

#[cfg(test)]
mod tests {
    use super::*;
    use ndarray::array;

    #[test]
    fn patches_join_at_corners_and_are_numbered_in_reading_order() {
        let inked = array![
            [0.0, 0.9, 0.0, 0.0, 0.0],
            [0.0, 0.0, 0.9, 0.0, 0.7],
            [0.0, 0.0, 0.0, 0.0, 0.9],
            [0.9, 0.0, 0.0, 0.0, 0.0],
        ]
        .mapv(|c: f32| c > 0.5);
        let patches = join(&inked, 2);
        assert_eq!(patches.count, 2);
        assert_eq!(patches.labels[[0, 1]], 1);
        assert_eq!(patches.labels[[1, 2]], 1);
        assert_eq!(patches.labels[[2, 4]], 2);
        assert_eq!(patches.labels[[3, 0]], 0);
    }

    #[test]
    fn arms_that_meet_lower_down_are_one_patch() {
        let inked = array![
            [0.9, 0.0, 0.9, 0.0, 0.9],
            [0.9, 0.0, 0.9, 0.0, 0.9],
            [0.9, 0.9, 0.9, 0.9, 0.9],
        ]
        .mapv(|c: f32| c > 0.5);
        let patches = join(&inked, 1);
        assert_eq!(patches.count, 1);
        assert!(patches.labels.iter().all(|&l| l <= 1));
    }

    #[test]
    fn empty_and_thin_pictures_are_fine() {
        assert_eq!(join(&Mask::from_elem((0, 0), true), 1).count, 0);
        assert_eq!(join(&Mask::from_elem((1, 1), true), 1).count, 1);
        assert_eq!(join(&Mask::from_elem((300, 1), true), 1).count, 1);
    }
}
