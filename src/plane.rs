//! The raster types that travel between stages, and the coordinate frame.
//!
//! Frame: origin at the centre of pixel (0, 0), x to the right, y **down**, both in pixels.
//! Rasters are indexed `[[y, x]]`. Angles given to people are counter-clockwise as seen in the
//! picture, from its +x axis, so a direction vector `(dx, dy)` has the angle `atan2(-dy, dx)`.

use ndarray::Array2;

/// One channel of a picture, `[[y, x]]`.
pub type Plane = Array2<f32>;
/// True where a pixel may be used, `[[y, x]]`.
pub type Mask = Array2<bool>;
/// Three channels of one picture in the order red, green, blue, all of one shape.
pub type Rgb = [Plane; 3];

/// Angle in degrees, counter-clockwise as seen in the picture, of a vector given with y down.
/// Range [−180, 180].
///
/// ```
/// // A vector up and to the right in the picture has a negative dy.
/// assert_eq!(inktell::plane::angle_deg(1.0, -1.0), 45.0);
/// ```
#[must_use]
pub fn angle_deg(dx: f64, dy: f64) -> f64 {
    (-dy).atan2(dx).to_degrees()
}
