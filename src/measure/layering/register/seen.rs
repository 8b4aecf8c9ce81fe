//! The photograph as it is, and drawn together to a half.

use crate::ink::Inked;
use crate::plane::{Mask, Plane};
use ndarray::{ArrayView2, Zip};

/// Density through each filter, and what of it is usable.
#[derive(Clone, Copy)]
pub(super) struct Seen<'a> {
    pub(super) density: [ArrayView2<'a, f32>; 3],
    pub(super) usable: ArrayView2<'a, bool>,
}

impl<'a> Seen<'a> {
    pub(super) fn of(inked: &'a Inked) -> Self {
        Self {
            density: [0, 1, 2].map(|c: usize| inked.density[c].view()),
            usable: inked.usable.view(),
        }
    }
}

/// A picture drawn together, two pixels each way in one: a pixel is usable where all of its own are.
pub(super) struct Halved {
    density: [Plane; 3],
    usable: Mask,
}

impl Halved {
    pub(super) fn of(seen: Seen) -> Self {
        let size = seen.usable.shape();
        let size = [size[0] / 2, size[1] / 2];
        let mut usable = Mask::from_elem(size, false);
        Zip::indexed(usable.rows_mut()).par_for_each(|y, mut row| {
            let [above, below] = [0, 1].map(|k| seen.usable.row(2 * y + k));
            for (x, u) in row.iter_mut().enumerate() {
                *u = [above, below].iter().all(|r| r[2 * x] && r[2 * x + 1]);
            }
        });
        let density = seen.density.map(|plane| {
            let mut half = Plane::zeros(size);
            Zip::indexed(half.rows_mut()).par_for_each(|y, mut row| {
                let [above, below] = [0, 1].map(|k| plane.row(2 * y + k));
                for (x, mean) in row.iter_mut().enumerate() {
                    let four = above[2 * x] + above[2 * x + 1] + below[2 * x] + below[2 * x + 1];
                    *mean = 0.25 * four;
                }
            });
            half
        });
        Self { density, usable }
    }

    pub(super) fn seen(&self) -> Seen<'_> {
        Seen {
            density: [0, 1, 2].map(|c: usize| self.density[c].view()),
            usable: self.usable.view(),
        }
    }
}
