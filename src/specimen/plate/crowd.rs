//! Places on a sheet that keep their distance.

use crate::specimen::drawing::Drawing;

/// Places already taken, in square cells, to find neighbours quickly.
pub struct Crowd {
    cell_mm: f32,
    columns: usize,
    rows: usize,
    cells: Vec<Vec<[f32; 2]>>,
}

impl Crowd {
    /// An empty sheet; `cell_mm` should be near the least distance asked for.
    pub fn new(drawing: &Drawing, cell_mm: f32) -> Self {
        let (h, w) = drawing.shape();
        let count = |n: usize| (n as f32 / drawing.px_per_mm as f32 / cell_mm) as usize + 1;
        let (columns, rows) = (count(w), count(h));
        Self {
            cell_mm,
            columns,
            rows,
            cells: vec![Vec::new(); columns * rows],
        }
    }

    fn cell(&self, place: [f32; 2]) -> [usize; 2] {
        let index = |v: f32, n: usize| ((v / self.cell_mm).max(0.0) as usize).min(n - 1);
        [index(place[1], self.rows), index(place[0], self.columns)]
    }

    /// Takes a place.
    pub fn add(&mut self, place: [f32; 2]) {
        let [j, i] = self.cell(place);
        self.cells[j * self.columns + i].push(place);
    }

    /// Whether no taken place is nearer than `apart_mm`.
    pub fn admits(&self, place: [f32; 2], apart_mm: f32) -> bool {
        let [j0, i0] = self.cell([place[0] - apart_mm, place[1] - apart_mm]);
        let [j1, i1] = self.cell([place[0] + apart_mm, place[1] + apart_mm]);
        (j0..=j1).all(|j| {
            self.cells[j * self.columns + i0..=j * self.columns + i1]
                .iter()
                .flatten()
                .all(|other| (other[0] - place[0]).hypot(other[1] - place[1]) >= apart_mm)
        })
    }
}
