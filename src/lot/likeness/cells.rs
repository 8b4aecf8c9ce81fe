//! A photograph in cells of small whole numbers, and how well two of them lie on each other.

use std::ops::Range;

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
        let least = LEAST_OVERLAP * self.inside.min(other.inside) as f64;
        let (columns, rows) = (
            shared(self.width, other.width, dx),
            shared(self.height, other.height, dy),
        );
        // More than this cannot lie on each other.
        if ((columns.len() * rows.len()) as f64) < least {
            return -1.0;
        }
        let mut sums = Sums::default();
        for y in rows {
            let own = y * self.width;
            let its = y.strict_add_signed(dy) * other.width;
            sums.add(
                &self.values[own + columns.start..own + columns.end],
                &other.values[(its + columns.start).strict_add_signed(dx)..][..columns.len()],
            );
        }
        sums.correlation(least)
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

/// Places along one side at which both have a cell, the other being shifted.
fn shared(own: usize, other: usize, shift: isize) -> Range<usize> {
    let from = 0.max(-shift) as usize;
    let to = (own as isize).min(other as isize - shift).max(0) as usize;
    from.min(to)..to
}

/// Sums over the cells that lie on each other. Whole numbers of 32 bits hold them: a side has at most 255
/// cells.
#[derive(Default)]
struct Sums {
    ab: i32,
    aa: i32,
    bb: i32,
    both: i32,
}

impl Sums {
    /// Adds a row of each. Without branches, among them the checks for sums too large that a build for
    /// testing has, so that many cells are worked on at once: every pair of photographs comes here some
    /// hundred times.
    fn add(&mut self, a: &[i8], b: &[i8]) {
        for (a, b) in a.iter().zip(b) {
            let both = (*a != OUTSIDE) & (*b != OUTSIDE);
            let (a, b) = if both { (*a, *b) } else { (0, 0) };
            let (a, b) = (i32::from(a), i32::from(b));
            self.both = self.both.wrapping_add(i32::from(both));
            self.ab = self.ab.wrapping_add(a * b);
            self.aa = self.aa.wrapping_add(a * a);
            self.bb = self.bb.wrapping_add(b * b);
        }
    }

    /// −1 where fewer than `least` cells lie on each other.
    fn correlation(&self, least: f64) -> f64 {
        if f64::from(self.both) < least || self.aa == 0 || self.bb == 0 {
            return -1.0;
        }
        f64::from(self.ab) / (f64::from(self.aa) * f64::from(self.bb)).sqrt()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Correlation by its definition, cell by cell.
    fn plainly(a: &Cells, b: &Cells, dx: isize, dy: isize) -> f64 {
        let at = |cells: &Cells, x: isize, y: isize| {
            let inside = x >= 0 && y >= 0 && x < cells.width as isize && y < cells.height as isize;
            let value = inside.then(|| cells.values[y as usize * cells.width + x as usize]);
            value.filter(|v| *v != OUTSIDE).map(f64::from)
        };
        let places =
            (0..a.height as isize).flat_map(|y| (0..a.width as isize).map(move |x| (x, y)));
        let pairs: Vec<(f64, f64)> = places
            .filter_map(|(x, y)| Some((at(a, x, y)?, at(b, x + dx, y + dy)?)))
            .collect();
        let sum = |of: fn(&(f64, f64)) -> f64| pairs.iter().map(of).sum::<f64>();
        let (ab, aa, bb) = (sum(|p| p.0 * p.1), sum(|p| p.0 * p.0), sum(|p| p.1 * p.1));
        let least = LEAST_OVERLAP * a.inside.min(b.inside) as f64;
        if (pairs.len() as f64) < least || aa == 0.0 || bb == 0.0 {
            return -1.0;
        }
        ab / (aa * bb).sqrt()
    }

    /// Cells without order, one in `gap` of them outside.
    fn strewn(width: usize, height: usize, gap: usize, key: u32) -> Cells {
        let values = (0..width * height).map(|i| {
            let number = (i as u32 + key).wrapping_mul(2_654_435_761);
            match i % gap {
                0 => OUTSIDE,
                _ => ((number >> 24) as u8 as i8).max(-127),
            }
        });
        Cells::new(width, height, values.collect())
    }

    #[test]
    fn quick_sums_are_those_of_the_definition() {
        let photos = [
            strewn(48, 36, 7, 1),
            strewn(36, 48, 1000, 2),
            strewn(12, 9, 5, 3),
            strewn(3, 2, 4, 4),
            // The largest sums that text can hold.
            Cells::new(255, 255, vec![-127; 255 * 255]),
        ];
        let mut compared = 0;
        for a in &photos {
            for b in &photos {
                for (dx, dy) in [(0, 0), (3, -2), (-11, 7), (20, 0), (-60, 1), (300, -300)] {
                    let plain = plainly(a, b, dx, dy);
                    assert_eq!(a.at_shift(b, dx, dy), plain, "{dx} {dy}");
                    compared += usize::from(plain > -1.0);
                }
            }
        }
        assert!(compared > 20, "{compared}");
    }
}
