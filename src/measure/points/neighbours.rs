//! Nearest neighbours by square buckets of about two points each.

use super::Point;

/// Points sorted into buckets.
#[derive(Clone, Debug)]
pub struct Neighbours<'a> {
    points: &'a [Point],
    origin: Point,
    side: f64,
    columns: usize,
    rows: usize,
    /// Index into `order` of each bucket's first point; one entry more than buckets.
    starts: Vec<u32>,
    order: Vec<u32>,
}

/// Points per bucket that are aimed at.
const POINTS_PER_BUCKET: f64 = 2.0;
/// Most buckets per point, against stray points that stretch the bounding box.
const MAX_BUCKETS_PER_POINT: usize = 4;

impl<'a> Neighbours<'a> {
    /// Sorts the points. Points with coordinates that are not finite must not be passed.
    #[must_use]
    pub fn of(points: &'a [Point]) -> Self {
        let (low, high) = bounds(points);
        let extent = [high[0] - low[0], high[1] - low[1]];
        let side = bucket_side(extent, points.len());
        let columns = (extent[0] / side) as usize + 1;
        let rows = (extent[1] / side) as usize + 1;
        let mut found = Self {
            points,
            origin: low,
            side,
            columns,
            rows,
            starts: vec![0; columns * rows + 1],
            order: vec![0; points.len()],
        };
        found.sort_in();
        found
    }

    fn sort_in(&mut self) {
        let buckets: Vec<usize> = self.points.iter().map(|p| self.bucket(*p)).collect();
        for &b in &buckets {
            self.starts[b + 1] += 1;
        }
        for b in 1..self.starts.len() {
            self.starts[b] += self.starts[b - 1];
        }
        let mut next = self.starts.clone();
        for (i, &b) in buckets.iter().enumerate() {
            self.order[next[b] as usize] = i as u32;
            next[b] += 1;
        }
    }

    fn cell(&self, p: Point) -> (usize, usize) {
        let at = |c: f64, o: f64, n: usize| (((c - o) / self.side).max(0.0) as usize).min(n - 1);
        (
            at(p[0], self.origin[0], self.columns),
            at(p[1], self.origin[1], self.rows),
        )
    }

    fn bucket(&self, p: Point) -> usize {
        let (x, y) = self.cell(p);
        y * self.columns + x
    }

    /// Calls `visit(index, distance)` for every point within `radius` of `at`, in a fixed order.
    pub fn within(&self, at: Point, radius: f64, mut visit: impl FnMut(usize, f64)) {
        let (x0, y0) = self.cell([at[0] - radius, at[1] - radius]);
        let (x1, y1) = self.cell([at[0] + radius, at[1] + radius]);
        for y in y0..=y1 {
            for bucket in y * self.columns + x0..=y * self.columns + x1 {
                let range = self.starts[bucket] as usize..self.starts[bucket + 1] as usize;
                for &i in &self.order[range] {
                    let p = self.points[i as usize];
                    let (dx, dy) = (p[0] - at[0], p[1] - at[1]);
                    let square = dx * dx + dy * dy;
                    if square <= radius * radius {
                        visit(i as usize, square.sqrt());
                    }
                }
            }
        }
    }

    /// The `k` points nearest to point `i` (itself left out) with their distances, nearest first,
    /// equal distances by index; fewer where there are not so many.
    #[must_use]
    pub fn nearest(&self, i: usize, k: usize) -> Vec<(usize, f64)> {
        self.nearest_to(self.points[i], k, Some(i))
    }

    /// The `k` points nearest to a place, leaving out point `except`.
    #[must_use]
    pub fn nearest_to(&self, at: Point, k: usize, except: Option<usize>) -> Vec<(usize, f64)> {
        let farthest = self.side * (self.columns + self.rows) as f64 + self.distance_outside(at);
        let mut radius = self.side * (0.6 + 0.5 * (k as f64).sqrt());
        loop {
            let mut found = Vec::new();
            self.within(at, radius, |j, d| {
                if Some(j) != except {
                    found.push((j, d));
                }
            });
            if found.len() >= k || radius > farthest {
                found.sort_by(|a, b| a.1.total_cmp(&b.1).then(a.0.cmp(&b.0)));
                found.truncate(k);
                return found;
            }
            radius *= 1.6;
        }
    }

    fn distance_outside(&self, at: Point) -> f64 {
        (at[0] - self.origin[0]).abs() + (at[1] - self.origin[1]).abs()
    }
}

fn bounds(points: &[Point]) -> (Point, Point) {
    let start = points.first().copied().unwrap_or([0.0; 2]);
    points.iter().fold((start, start), |(low, high), p| {
        (
            [low[0].min(p[0]), low[1].min(p[1])],
            [high[0].max(p[0]), high[1].max(p[1])],
        )
    })
}

fn bucket_side(extent: Point, n: usize) -> f64 {
    let wide = (extent[0] * extent[1] * POINTS_PER_BUCKET / n.max(1) as f64).sqrt();
    // Points on a line have no area; then the longest side decides.
    let longest = extent[0].max(extent[1]);
    let least = longest / (MAX_BUCKETS_PER_POINT * n.max(1)) as f64;
    let side = wide.max(least);
    if side > 0.0 { side } else { 1.0 }
}

#[cfg(test)]
mod tests {
    use super::*;
    use rand::{RngExt, SeedableRng};

    #[test]
    fn neighbours_equal_those_of_trying_every_pair() {
        let mut rng = rand_chacha::ChaCha8Rng::seed_from_u64(3);
        let points: Vec<Point> = (0..300)
            .map(|_| [rng.random::<f64>() * 7.0, rng.random::<f64>() * 2.0 - 5.0])
            .collect();
        let neighbours = Neighbours::of(&points);
        for i in 0..points.len() {
            let mut all: Vec<f64> = (0..points.len())
                .filter(|&j| j != i)
                .map(|j| {
                    let [dx, dy] = [0, 1].map(|axis| points[i][axis] - points[j][axis]);
                    (dx * dx + dy * dy).sqrt()
                })
                .collect();
            all.sort_by(f64::total_cmp);
            let got: Vec<f64> = neighbours.nearest(i, 5).iter().map(|n| n.1).collect();
            assert_eq!(got, all[..5]);
        }
    }

    #[test]
    fn few_or_coinciding_points_are_fine() {
        assert!(
            Neighbours::of(&[])
                .nearest_to([1.0, 1.0], 3, None)
                .is_empty()
        );
        assert!(Neighbours::of(&[[2.0, 3.0]]).nearest(0, 1).is_empty());
        let twins = [[1.0, 1.0]; 4];
        assert_eq!(
            Neighbours::of(&twins).nearest(0, 2),
            vec![(1, 0.0), (2, 0.0)]
        );
        let row: Vec<Point> = (0..50).map(|i| [f64::from(i), 0.0]).collect();
        assert_eq!(Neighbours::of(&row).nearest(10, 1), vec![(9, 1.0)]);
    }
}
