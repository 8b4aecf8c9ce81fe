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
        Zip::indexed(&mut usable).par_for_each(|(y, x), u| {
            *u = four(seen.usable, [y, x]).into_iter().all(|u| u);
        });
        let density = seen.density.map(|plane| {
            let mut half = Plane::zeros(size);
            Zip::indexed(&mut half).par_for_each(|(y, x), mean| {
                *mean = 0.25 * four(plane, [y, x]).into_iter().sum::<f32>();
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

/// The four pixels that one is drawn together from.
fn four<T: Copy>(plane: ArrayView2<T>, [y, x]: [usize; 2]) -> [T; 4] {
    let (y, x) = (2 * y, 2 * x);
    [[y, x], [y, x + 1], [y + 1, x], [y + 1, x + 1]].map(|at| plane[at])
}
