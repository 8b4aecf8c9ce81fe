//! A photograph in cells of small whole numbers, and how well two of them lie on each other.

/// A cell outside the usable field.
pub(super) const OUTSIDE: i8 = i8::MIN;
/// Share of the smaller field in which both must have cells.
const LEAST_OVERLAP: f64 = 0.45;
/// Cells of the coarse look, over cells of the fine one.
pub(super) const COARSE: usize = 4;

#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Cells {
    pub(super) width: usize,
    pub(super) height: usize,
    pub(super) values: Vec<i8>,
    /// Number of cells that are not outside.
    pub(super) inside: usize,
}

impl Cells {
    pub(super) fn new(width: usize, height: usize, values: Vec<i8>) -> Self {
        Self {
            inside: values.iter().filter(|c| **c != OUTSIDE).count(),
            width,
            height,
            values,
        }
    }

    pub(super) fn best_shift(
        &self,
        other: &Self,
        about: (isize, isize),
        reach: isize,
    ) -> (f64, (isize, isize)) {
        let mut best = (-1.0, about);
        for dy in about.1 - reach..=about.1 + reach {
            for dx in about.0 - reach..=about.0 + reach {
                let r = self.at_shift(other, dx, dy);
                if r > best.0 {
                    best = (r, (dx, dy));
                }
            }
        }
        best
    }

    /// Correlation of the cells that lie on each other when the other is shifted.
    fn at_shift(&self, other: &Self, dx: isize, dy: isize) -> f64 {
        let (mut ab, mut aa, mut bb, mut both) = (0i64, 0i64, 0i64, 0usize);
        for y in 0..self.height {
            let Some(v) = y.checked_add_signed(dy).filter(|v| *v < other.height) else {
                continue;
            };
            for x in 0..self.width {
                let Some(u) = x.checked_add_signed(dx).filter(|u| *u < other.width) else {
                    continue;
                };
                let (a, b) = (
                    self.values[y * self.width + x],
                    other.values[v * other.width + u],
                );
                if a == OUTSIDE || b == OUTSIDE {
                    continue;
                }
                let (a, b) = (i64::from(a), i64::from(b));
                both += 1;
                ab += a * b;
                aa += a * a;
                bb += b * b;
            }
        }
        let least = LEAST_OVERLAP * self.inside.min(other.inside) as f64;
        if (both as f64) < least || aa == 0 || bb == 0 {
            return -1.0;
        }
        ab as f64 / ((aa as f64) * (bb as f64)).sqrt()
    }

    /// Turned about the middle, between cells by straight lines.
    pub(super) fn turned(&self, degrees: f64) -> Self {
        let (sin, cos) = degrees.to_radians().sin_cos();
        let middle = [
            0.5 * (self.width as f64 - 1.0),
            0.5 * (self.height as f64 - 1.0),
        ];
        let values = (0..self.width * self.height).map(|i| {
            let x = (i % self.width) as f64 - middle[0];
            let y = (i / self.width) as f64 - middle[1];
            self.between(cos * x - sin * y + middle[0], sin * x + cos * y + middle[1])
        });
        Self::new(self.width, self.height, values.collect())
    }

    /// Value at a place between cells; outside where most of the four cells about it are.
    fn between(&self, x: f64, y: f64) -> i8 {
        const LEAST_INSIDE: f64 = 0.7;
        let (left, top) = (x.floor(), y.floor());
        let (mut sum, mut weight) = (0.0, 0.0);
        for (dy, dx) in [(0.0, 0.0), (0.0, 1.0), (1.0, 0.0), (1.0, 1.0)] {
            let (u, v) = (left + dx, top + dy);
            let share = (1.0 - (x - u).abs()) * (1.0 - (y - v).abs());
            if u < 0.0 || v < 0.0 || u >= self.width as f64 || v >= self.height as f64 {
                continue;
            }
            let cell = self.values[v as usize * self.width + u as usize];
            if cell != OUTSIDE {
                sum += share * f64::from(cell);
                weight += share;
            }
        }
        if weight < LEAST_INSIDE {
            OUTSIDE
        } else {
            (sum / weight).round() as i8
        }
    }

    /// Means of blocks of cells.
    pub(super) fn coarse(&self) -> Self {
        let (width, height) = (self.width.div_ceil(COARSE), self.height.div_ceil(COARSE));
        let block = |bx: usize, by: usize| {
            let (mut sum, mut count) = (0i32, 0i32);
            for y in by * COARSE..((by + 1) * COARSE).min(self.height) {
                for x in bx * COARSE..((bx + 1) * COARSE).min(self.width) {
                    let cell = self.values[y * self.width + x];
                    if cell != OUTSIDE {
                        sum += i32::from(cell);
                        count += 1;
                    }
                }
            }
            let most = (COARSE * COARSE) as i32;
            if 2 * count < most {
                OUTSIDE
            } else {
                (sum / count).clamp(-127, 127) as i8
            }
        };
        let blocks = (0..width * height).map(|i| block(i % width, i / width));
        Self::new(width, height, blocks.collect())
    }
}
