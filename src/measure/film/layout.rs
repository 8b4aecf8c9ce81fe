//! Where the film lies: each cell of the ground given to paper, film, or something else.

use super::ground::GroundMap;
use super::levels::{Level, place};
use ndarray::Array2;

/// What a cell's ground is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// Hidden under marks or outside the field.
    Hidden,
    /// Within reach of the paper's level.
    Paper,
    /// Within reach of the film's level.
    Film,
    /// Seen, but neither.
    Other,
}

/// Every cell's kind and density, `[[row, column]]`.
#[derive(Clone, Debug)]
pub struct Layout {
    /// Kind of each cell.
    pub kind: Array2<Kind>,
    /// Density per channel over [`crate::ink::Inked::paper`]; zero where hidden.
    pub density: Array2<[f64; 3]>,
    /// Where that lies among the levels: see [`place`].
    pub place: Array2<[f64; 3]>,
    /// True where a mark stands in the cell, or hides its ground.
    pub marked: Array2<bool>,
}

/// Contrast inside a cell, as a share of the darkest ink's density, from which a mark stands in it.
const MARKED_SHARE: f32 = 0.3;
/// Contrast from which a mark may stand in a cell at all: some five times the scatter of paper.
const LEAST_MARK: f32 = 0.15;

impl Layout {
    /// Lays out the cells for a paper and, where there is one, a film.
    #[must_use]
    pub fn new(map: &GroundMap, paper: Option<&Level>, film: Option<&Level>) -> Self {
        let mark = (MARKED_SHARE * map.solid).max(LEAST_MARK);
        let density = map
            .cells
            .mapv(|cell| cell.map_or([0.0; 3], |c| c.density.map(f64::from)));
        let mut layout = Self {
            kind: map
                .cells
                .mapv(|cell| cell.map_or(Kind::Hidden, |_| Kind::Other)),
            place: density.mapv(place),
            density,
            marked: map
                .cells
                .mapv(|cell| cell.is_none_or(|c| c.contrast > mark)),
        };
        let seen: Vec<[usize; 2]> = map.seen().map(|(at, _)| at).collect();
        for (level, kind) in [(paper, Kind::Paper), (film, Kind::Film)] {
            for &member in level.iter().flat_map(|l| &l.members) {
                layout.kind[seen[member]] = kind;
            }
        }
        layout
    }

    /// Cells of one kind, in reading order.
    pub fn of(&self, kind: Kind) -> impl Iterator<Item = [usize; 2]> {
        self.kind
            .indexed_iter()
            .filter(move |(_, k)| **k == kind)
            .map(|((y, x), _)| [y, x])
    }

    /// The cell `dy`, `dx` further on, where there is one.
    #[must_use]
    pub fn beyond(&self, at: [usize; 2], dy: isize, dx: isize) -> Option<[usize; 2]> {
        let y = at[0].checked_add_signed(dy)?;
        let x = at[1].checked_add_signed(dx)?;
        (y < self.kind.nrows() && x < self.kind.ncols()).then_some([y, x])
    }

    /// True where neither the cell nor a neighbour within two cells holds a mark.
    #[must_use]
    pub fn open(&self, at: [usize; 2]) -> bool {
        (-2..=2)
            .all(|dy| (-2..=2).all(|dx| self.beyond(at, dy, dx).is_none_or(|i| !self.marked[i])))
    }

    /// True where marks stand in the cell and its ground is seen between them.
    #[must_use]
    pub fn between_marks(&self, at: [usize; 2]) -> bool {
        self.kind[at] != Kind::Hidden && self.marked[at]
    }

    /// Share of film among the paper and film cells that `which` picks, with their number.
    #[must_use]
    pub fn film_share(&self, which: impl Fn([usize; 2]) -> bool) -> (f64, usize) {
        let film = self.of(Kind::Film).filter(|&i| which(i)).count();
        let paper = self.of(Kind::Paper).filter(|&i| which(i)).count();
        (film as f64 / (film + paper).max(1) as f64, film + paper)
    }
}

/// Length of the difference of two densities.
#[must_use]
pub fn gap(a: [f64; 3], b: [f64; 3]) -> f64 {
    a.iter()
        .zip(b)
        .map(|(a, b)| (a - b).powi(2))
        .sum::<f64>()
        .sqrt()
}

/// The part of a density that is hue: what is left when the channels' mean is taken off, as two
/// coordinates (red against blue, green against both). Neutral darkening leaves it as it is.
#[must_use]
pub fn hue_part(density: [f64; 3]) -> [f64; 2] {
    let [r, g, b] = density;
    [
        (r - b) / std::f64::consts::SQRT_2,
        (r + b - 2.0 * g) / 6f64.sqrt(),
    ]
}
