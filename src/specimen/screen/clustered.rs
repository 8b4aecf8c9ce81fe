//! Amplitude-modulated screens: dots (or lines) of varied size on a fixed lattice.

use super::spot::{DotShape, ThresholdTable};
use super::{Frame, Tone, area_mean};
use crate::plane::{Plane, angle_deg};
use rayon::prelude::*;
use serde::{Deserialize, Serialize};

/// One ink's screen.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Screen {
    /// Frequency vectors, cycles per mm, y down: two for dots, one for lines.
    pub vectors_per_mm: Vec<[f64; 2]>,
    /// Phase at the middle of the sheet, cycles.
    pub phase: [f64; 2],
    /// Dot shape.
    pub shape: DotShape,
    /// Raster of the output device, px per mm; `None` for a glass or contact screen, or a device
    /// too fine to be seen.
    pub device_px_per_mm: Option<f64>,
}

impl Screen {
    /// Two vectors at right angles.
    #[must_use]
    pub fn square(ruling_lpi: f64, angle_deg: f64, shape: DotShape) -> Self {
        let f = ruling_lpi / 25.4;
        let (sin, cos) = angle_deg.to_radians().sin_cos();
        let first = [f * cos, -f * sin];
        let vectors_per_mm = match shape {
            DotShape::Line => vec![first],
            _ => vec![first, [-f * sin, -f * cos]],
        };
        Self {
            vectors_per_mm,
            phase: [0.0; 2],
            shape,
            device_px_per_mm: None,
        }
    }

    /// From the cell's two sides in whole device pixels (x right, y down); they must not be parallel.
    /// The cell is what an ordered dither or a laser printer repeats.
    #[must_use]
    pub fn of_device_cell(sides_px: [[i64; 2]; 2], device_px_per_mm: f64, shape: DotShape) -> Self {
        let sides = sides_px.map(|side| side.map(|v| v as f64 / device_px_per_mm));
        let mut vectors_per_mm = reciprocal(sides).to_vec();
        if shape == DotShape::Line {
            vectors_per_mm.truncate(1);
        }
        Self {
            vectors_per_mm,
            phase: [0.25; 2],
            shape,
            device_px_per_mm: Some(device_px_per_mm),
        }
    }

    /// The nearest screen that repeats after `cells` by `cells` dots in whole device pixels, as a
    /// supercell of a raster image processor does.
    #[must_use]
    pub fn snapped(&self, cells: u32, device_px_per_mm: f64) -> Self {
        let Ok(vectors) = <[[f64; 2]; 2]>::try_from(self.vectors_per_mm.clone()) else {
            return self.clone();
        };
        let many = f64::from(cells.max(1));
        let sides = reciprocal(vectors).map(|side| {
            side.map(|mm| (mm * many * device_px_per_mm).round() / (many * device_px_per_mm))
        });
        Self {
            vectors_per_mm: reciprocal(sides).to_vec(),
            ..self.clone()
        }
    }

    /// Lines per inch, mean of both directions where they differ, as a printing device's cells make them.
    #[must_use]
    pub fn ruling_lpi(&self) -> f64 {
        let per_mm: f64 = self.vectors_per_mm.iter().map(|v| v[0].hypot(v[1])).sum();
        25.4 * per_mm / self.vectors_per_mm.len().max(1) as f64
    }

    /// Direction of the first vector, [0, 90) for dots and [0, 180) for lines.
    #[must_use]
    pub fn angle_deg(&self) -> f64 {
        let turn = if self.vectors_per_mm.len() > 1 {
            90.0
        } else {
            180.0
        };
        self.vectors_per_mm
            .first()
            .map_or(0.0, |v| angle_deg(v[0], v[1]).rem_euclid(turn))
    }
}

/// The other basis: `reciprocal(a)[i] · a[j]` is 1 for i = j, else 0. Parallel vectors give zeros.
fn reciprocal([a, b]: [[f64; 2]; 2]) -> [[f64; 2]; 2] {
    let det = a[0] * b[1] - a[1] * b[0];
    if det == 0.0 {
        return [[0.0; 2]; 2];
    }
    [[b[1] / det, -b[0] / det], [-a[1] / det, a[0] / det]]
}

/// Screens a tone: share of each pixel of the frame that the plate would ink, 0–1.
#[must_use]
pub fn draw(tone: &Tone, screen: &Screen, frame: Frame) -> Plane {
    let table = ThresholdTable::of(screen.shape);
    match screen.device_px_per_mm {
        None => antialiased(tone.at_frame(frame), screen, &table, frame.px_per_mm),
        Some(device) => {
            let size = covering(frame, [device; 2]);
            let bitmap = bilevel(tone.at_grid([device; 2], size), screen, &table, device);
            area_mean(&bitmap, [device; 2], frame)
        }
    }
}

/// Width and height of a grid with the given px per mm that covers the frame.
#[must_use]
pub fn covering(frame: Frame, px_per_mm: [f64; 2]) -> [usize; 2] {
    [0, 1].map(|i| (frame.size_px[i] as f64 * px_per_mm[i] / frame.px_per_mm).ceil() as usize + 2)
}

/// Linear phase of the screen over a grid.
struct Phase {
    /// Cycles per grid px for u, v along x and y.
    step: [[f64; 2]; 2],
    start: [f64; 2],
}

impl Phase {
    fn of(screen: &Screen, px_per_mm: f64, (h, w): (usize, usize)) -> Self {
        let vector = |i: usize| screen.vectors_per_mm.get(i).copied().unwrap_or([0.0; 2]);
        let step = [0, 1].map(|i| vector(i).map(|f| f / px_per_mm));
        let middle = [(w as f64 - 1.0) / 2.0, (h as f64 - 1.0) / 2.0];
        let start =
            [0, 1].map(|i| screen.phase[i] - step[i][0] * middle[0] - step[i][1] * middle[1]);
        Self { step, start }
    }

    fn at(&self, x: usize, y: usize) -> (f64, f64) {
        let (x, y) = (x as f64, y as f64);
        let [u, v] = self.step;
        (
            self.start[0] + u[0] * x + u[1] * y,
            self.start[1] + v[0] * x + v[1] * y,
        )
    }

    /// Slope of the threshold per px, from its slopes along u and v.
    fn slope(&self, along: [f32; 2]) -> f32 {
        let [u, v] = self.step;
        let dx = f64::from(along[0]) * u[0] + f64::from(along[1]) * v[0];
        let dy = f64::from(along[0]) * u[1] + f64::from(along[1]) * v[1];
        (dx * dx + dy * dy).sqrt() as f32
    }
}

/// The edge of a dot passes through a pixel at (area − threshold) / slope from its middle.
fn antialiased(tone: Plane, screen: &Screen, table: &ThresholdTable, px_per_mm: f64) -> Plane {
    // Flat places of the threshold (middle of a dot or a hole) would give an endless distance.
    const LEAST_SLOPE: f32 = 0.02;
    // A dot of less than this share of its cell does not hold on a plate.
    const LEAST_AREA: f32 = 0.003;
    let phase = Phase::of(screen, px_per_mm, tone.dim());
    mapped(tone, |x, y, area| {
        if area <= LEAST_AREA {
            return 0.0;
        }
        let (u, v) = phase.at(x, y);
        let (threshold, along) = table.at(u, v);
        let slope = phase.slope(along).max(LEAST_SLOPE);
        (0.5 + (area - threshold) / slope).clamp(0.0, 1.0)
    })
}

fn bilevel(tone: Plane, screen: &Screen, table: &ThresholdTable, px_per_mm: f64) -> Plane {
    let phase = Phase::of(screen, px_per_mm, tone.dim());
    mapped(tone, |x, y, area| {
        let (u, v) = phase.at(x, y);
        f32::from(u8::from(area > table.at(u, v).0))
    })
}

fn mapped(mut plane: Plane, of: impl Fn(usize, usize, f32) -> f32 + Sync) -> Plane {
    let w = plane.ncols().max(1);
    if let Some(cells) = plane.as_slice_mut() {
        cells.par_chunks_mut(w).enumerate().for_each(|(y, row)| {
            for (x, cell) in row.iter_mut().enumerate() {
                *cell = of(x, y, *cell);
            }
        });
    }
    plane
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::specimen::spectrum::peak_near;

    const FRAME: Frame = Frame {
        px_per_mm: 61.0,
        size_px: [307, 233],
    };

    fn flat(area: f32) -> Tone {
        Tone {
            plane: Plane::from_elem((7, 9), area),
            px_per_mm: 1.3,
            shift_mm: [0.0; 2],
        }
    }

    fn assert_peak_at_truth(screen: &Screen) {
        let drawn = draw(&flat(0.35), screen, FRAME);
        for vector in &screen.vectors_per_mm {
            let truth = vector.map(|f| f / FRAME.px_per_mm);
            let found = peak_near(&drawn, [truth[0] + 8e-4, truth[1] - 6e-4], 3e-3);
            let miss = (found[0] - truth[0]).hypot(found[1] - truth[1]);
            let relative = miss / truth[0].hypot(truth[1]);
            assert!(relative < 2e-3, "{screen:?}: {found:?} for {truth:?}");
        }
    }

    #[test]
    fn the_drawn_screen_has_its_stated_ruling_and_angle() {
        assert_peak_at_truth(&Screen::square(133.0, 32.5, DotShape::Euclidean));
        assert_peak_at_truth(&Screen::square(85.0, 75.0, DotShape::Round));
        assert_peak_at_truth(&Screen::square(106.0, 141.0, DotShape::Line));
        let cell = [[3, -2], [2, 3]];
        assert_peak_at_truth(&Screen::of_device_cell(
            cell,
            600.0 / 25.4,
            DotShape::Diamond,
        ));
        let oblique = [[4, -1], [1, 3]];
        assert_peak_at_truth(&Screen::of_device_cell(
            oblique,
            600.0 / 25.4,
            DotShape::Square,
        ));
    }

    #[test]
    fn a_device_cell_has_the_ruling_and_angle_of_plain_geometry() {
        // Three right and two up: 600 / √13 lines an inch at atan(2 / 3).
        let screen = Screen::of_device_cell([[3, -2], [2, 3]], 600.0 / 25.4, DotShape::Round);
        assert!((screen.ruling_lpi() - 166.410).abs() < 1e-3);
        assert!((screen.angle_deg() - 33.690).abs() < 1e-3);
        // 300 dpi at 45°, two by two: 106.07 lpi (facts of the trade §1.1).
        let screen = Screen::of_device_cell([[2, -2], [2, 2]], 300.0 / 25.4, DotShape::Round);
        assert!((screen.ruling_lpi() - 106.066).abs() < 1e-3);
        assert!((screen.angle_deg() - 45.0).abs() < 1e-9);
    }

    #[test]
    fn angles_are_counter_clockwise_as_seen() {
        let screen = Screen::square(100.0, 15.0, DotShape::Round);
        assert!((screen.angle_deg() - 15.0).abs() < 1e-9);
        // Up in the picture is negative y.
        assert!(screen.vectors_per_mm[0][1] < 0.0);
    }

    #[test]
    fn a_supercell_moves_a_screen_only_a_little() {
        let wanted = Screen::square(150.0, 15.0, DotShape::Round);
        let got = wanted.snapped(8, 94.5);
        assert!((got.ruling_lpi() / 150.0 - 1.0).abs() < 0.01);
        assert!((got.angle_deg() - 15.0).abs() < 0.5);
        assert_ne!(got, wanted);
    }

    #[test]
    fn every_shape_prints_the_wanted_area() {
        let shapes = [
            DotShape::Round,
            DotShape::Euclidean,
            DotShape::Cosine,
            DotShape::Elliptical { ratio: 0.7 },
            DotShape::Diamond,
            DotShape::Square,
            DotShape::Line,
        ];
        for shape in shapes {
            for area in [0.0, 0.08, 0.5, 0.85, 1.0] {
                let drawn = draw(&flat(area), &Screen::square(85.0, 20.0, shape), FRAME);
                let mean = drawn.mean().unwrap_or(-1.0);
                assert!((mean - area).abs() < 0.02, "{shape:?} {area}: {mean}");
            }
        }
    }
}
