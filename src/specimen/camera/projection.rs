//! Where a pixel of the photograph lies on the sheet.

use super::CameraRecipe;

/// Maps photo pixels to millimetres on the sheet and back; the middle of the frame is the origin
/// of the sheet, y down in both.
#[derive(Clone, Copy, Debug)]
pub struct Projection {
    centre_px: [f64; 2],
    half_diagonal_px: f64,
    half_size_px: [f64; 2],
    px_per_mm: f64,
    sin_cos: (f64, f64),
    radial: f64,
    perspective: [f64; 2],
}

impl Projection {
    /// The projection of a recipe.
    #[must_use]
    pub fn of(recipe: &CameraRecipe) -> Self {
        let [w, h] = recipe.size_px.map(|n| n.max(1) as f64);
        Self {
            centre_px: [(w - 1.0) / 2.0, (h - 1.0) / 2.0],
            half_diagonal_px: 0.5 * w.hypot(h),
            half_size_px: [w / 2.0, h / 2.0],
            px_per_mm: recipe.px_per_mm,
            sin_cos: recipe.rotation_deg.to_radians().sin_cos(),
            radial: recipe.radial,
            perspective: recipe.perspective,
        }
    }

    /// Millimetres on the sheet, from its middle, of a photo pixel.
    #[must_use]
    pub fn to_sheet_mm(&self, photo_px: [f64; 2]) -> [f64; 2] {
        let (x, y) = (
            photo_px[0] - self.centre_px[0],
            photo_px[1] - self.centre_px[1],
        );
        let r2 = (x * x + y * y) / (self.half_diagonal_px * self.half_diagonal_px);
        // A barrel squeezes the edge, so a pixel there shows something further out.
        let stretch = 1.0 + self.radial * r2;
        let depth = 1.0
            + self.perspective[0] * x / self.half_size_px[0]
            + self.perspective[1] * y / self.half_size_px[1];
        let scale = stretch / (depth * self.px_per_mm);
        let (u, v) = (x * scale, y * scale);
        let (sin, cos) = self.sin_cos;
        // Undoes a counter-clockwise turn as seen (y down).
        [u * cos - v * sin, u * sin + v * cos]
    }

    /// Photo pixel of a place on the sheet in mm (Newton's method; the mapping is nearly linear).
    #[must_use]
    pub fn to_photo_px(&self, sheet_mm: [f64; 2]) -> [f64; 2] {
        /// Enough for 10⁻⁹ px with distortions of a few per cent.
        const STEPS: usize = 5;
        let mut at = self.centre_px;
        for _ in 0..STEPS {
            let here = self.to_sheet_mm(at);
            let miss = [sheet_mm[0] - here[0], sheet_mm[1] - here[1]];
            let [[a, b], [c, d]] = self.jacobian(at);
            let det = a * d - b * c;
            at[0] += (d * miss[0] - b * miss[1]) / det;
            at[1] += (a * miss[1] - c * miss[0]) / det;
        }
        at
    }

    /// Derivatives of sheet mm by photo px: row 0 is dX/dx, dX/dy.
    #[must_use]
    pub fn jacobian(&self, photo_px: [f64; 2]) -> [[f64; 2]; 2] {
        /// Step of the central difference, px.
        const STEP_PX: f64 = 0.5;
        let at = |dx: f64, dy: f64| self.to_sheet_mm([photo_px[0] + dx, photo_px[1] + dy]);
        let (right, left) = (at(STEP_PX, 0.0), at(-STEP_PX, 0.0));
        let (below, above) = (at(0.0, STEP_PX), at(0.0, -STEP_PX));
        let span = 2.0 * STEP_PX;
        [
            [(right[0] - left[0]) / span, (below[0] - above[0]) / span],
            [(right[1] - left[1]) / span, (below[1] - above[1]) / span],
        ]
    }

    /// Local scale, px per mm (root of the ratio of areas).
    #[must_use]
    pub fn scale_at(&self, photo_px: [f64; 2]) -> f64 {
        let [[a, b], [c, d]] = self.jacobian(photo_px);
        1.0 / (a * d - b * c).abs().sqrt()
    }

    /// Frequency vector in the photo, cycles per px, of one on the sheet, cycles per mm (y down in both).
    #[must_use]
    pub fn frequency_at(&self, photo_px: [f64; 2], per_mm: [f64; 2]) -> [f64; 2] {
        let [[a, b], [c, d]] = self.jacobian(photo_px);
        [a * per_mm[0] + c * per_mm[1], b * per_mm[0] + d * per_mm[1]]
    }
}

impl CameraRecipe {
    /// Width and height in mm of the smallest sheet, centred on the frame, that covers all that
    /// the photograph shows, with a small margin for the blurs.
    #[must_use]
    pub fn sheet_mm(&self) -> [f64; 2] {
        /// Photo px around the frame that blurs and chromatic shifts may reach.
        const MARGIN_PX: f64 = 12.0;
        let projection = Projection::of(self);
        let mut reach = [0f64; 2];
        for at in self.outline() {
            let mm = projection.to_sheet_mm(at);
            reach = [reach[0].max(mm[0].abs()), reach[1].max(mm[1].abs())];
        }
        reach.map(|r| 2.0 * (r + MARGIN_PX / self.px_per_mm))
    }

    /// Points round the edge of what is seen, px.
    fn outline(&self) -> Vec<[f64; 2]> {
        const POINTS: usize = 64;
        let [w, h] = self.size_px.map(|n| n.max(1) as f64 - 1.0);
        let frame = (0..=POINTS).flat_map(|i| {
            let t = i as f64 / POINTS as f64;
            [[t * w, 0.0], [t * w, h], [0.0, t * h], [w, t * h]]
        });
        let Some(loupe) = self.loupe else {
            return frame.collect();
        };
        let reach = loupe.radius_px + 3.0 * loupe.edge_px;
        (0..POINTS)
            .map(|i| {
                let (sin, cos) = (std::f64::consts::TAU * i as f64 / POINTS as f64).sin_cos();
                [
                    (w / 2.0 + loupe.offset_px[0] + reach * cos).clamp(0.0, w),
                    (h / 2.0 + loupe.offset_px[1] + reach * sin).clamp(0.0, h),
                ]
            })
            .collect()
    }

    /// Whether a photo pixel shows the sheet and not the rim.
    #[must_use]
    pub fn sees(&self, photo_px: [f64; 2]) -> bool {
        let [w, h] = self.size_px.map(|n| n as f64);
        let in_frame = photo_px[0] > -0.5
            && photo_px[1] > -0.5
            && photo_px[0] < w - 0.5
            && photo_px[1] < h - 0.5;
        in_frame
            && self.loupe.is_none_or(|loupe| {
                let dx = photo_px[0] - (w - 1.0) / 2.0 - loupe.offset_px[0];
                let dy = photo_px[1] - (h - 1.0) / 2.0 - loupe.offset_px[1];
                dx.hypot(dy) < loupe.radius_px - loupe.edge_px
            })
    }
}
