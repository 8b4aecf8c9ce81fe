//! How dark the darkest ink stands against what lies round it: whether anything is printed at all.

use super::Inked;
use crate::rank::quantile;

/// Tiles along each side of the frame: small enough that uneven light and tints do not count as contrast.
const TILES: usize = 6;
/// Share of a tile that must be usable.
const MIN_USABLE: f64 = 0.9;
/// Pixels from one looked at to the next, across and down.
const STRIDE: usize = 4;
/// Lightest and darkest share of a tile that are compared.
const SHARES: [f64; 2] = [0.10, 0.98];

/// Greatest grey density of dark over light parts of any tile of the field; `None` where no tile is usable.
#[must_use]
pub fn greatest(inked: &Inked) -> Option<f32> {
    (0..TILES * TILES)
        .filter_map(|tile| of_tile(inked, tile / TILES, tile % TILES))
        .max_by(f32::total_cmp)
}

fn of_tile(inked: &Inked, row: usize, column: usize) -> Option<f32> {
    let (rows, columns) = inked.usable.dim();
    let part = |k: usize, of: usize| (k * of / TILES..(k + 1) * of / TILES).step_by(STRIDE);
    let (mut greys, mut seen) = (Vec::new(), 0usize);
    for y in part(row, rows) {
        for x in part(column, columns) {
            seen += 1;
            if inked.usable[[y, x]] {
                greys.push(inked.grey_density[[y, x]]);
            }
        }
    }
    if greys.is_empty() || (greys.len() as f64) < MIN_USABLE * seen as f64 {
        return None;
    }
    let [light, dark] = SHARES.map(|share| quantile(greys.iter().copied(), share).unwrap_or(0.0));
    Some(dark - light)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measure::segment::tests::inked_from;
    use crate::plane::Plane;

    fn sheet(light: impl Fn(usize, usize) -> f32) -> Inked {
        let plane = Plane::from_shape_fn((240, 300), |(y, x)| light(x, y));
        inked_from([plane.clone(), plane.clone(), plane], None)
    }

    #[test]
    fn dots_stand_out_and_paper_and_slow_light_do_not() {
        let dots = |x: usize, y: usize| if x % 10 < 3 && y % 10 < 3 { 0.09 } else { 0.9 };
        approx::assert_abs_diff_eq!(greatest(&sheet(dots)).unwrap(), 1.0, epsilon = 0.02);
        let paper = |x: usize, y: usize| 0.88 + 0.03 * ((x * 7 + y * 13) % 11) as f32 / 11.0;
        assert!(greatest(&sheet(paper)).unwrap() < 0.03);
        let uneven = |x: usize, _| 0.9 - 0.3 * x as f32 / 300.0;
        assert!(greatest(&sheet(uneven)).unwrap() < 0.06);
    }
}
