//! Pixels per millimetre, and where the figure comes from.

use super::field::FoundField;
use crate::measured::Z95;
use schemars::JsonSchema;
use serde::Serialize;

/// Half-width of the 95 % interval of a loupe maker's stated field diameter, as a share:
/// makers state it in whole or half millimetres of some 20 mm, and the rim is bevelled.
const LOUPE_FIELD_TOLERANCE: f64 = 0.02;
/// Half-width of the 95 % interval of a scan's resolution tag, as a share: scanners' stepping
/// is commonly within 1 % (experience, no standard asks for it).
const RESOLUTION_TAG_TOLERANCE: f64 = 0.01;
/// Resolutions a scanner can have, px per inch; below stand screen placeholders (72, 96).
const BELIEVABLE_PPI: std::ops::RangeInclusive<f64> = 150.0..=12_000.0;
/// Resolutions cameras and phones write into every file, whatever the subject's distance.
const CAMERA_PLACEHOLDERS_PPI: [f64; 6] = [72.0, 96.0, 180.0, 240.0, 300.0, 350.0];
/// Largest disagreement of a picture's two sides, or of two tags, still called equal.
const SAME_RESOLUTION: f64 = 0.01;
/// Pixels per mm that a photograph of a print can have: at 5000 a pixel is 0.2 µm, half the finest that light
/// resolves; at 0.1 it is 10 mm, and a sheet a few dozen pixels.
pub const POSSIBLE_PX_PER_MM: std::ops::RangeInclusive<f64> = 0.1..=5000.0;
/// Millimetres in an inch.
pub const MM_PER_INCH: f64 = 25.4;

/// Where a scale comes from.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum ScaleSource {
    /// The user gave pixels per millimetre.
    Given,
    /// The loupe's known field diameter, and the round field found in the photo.
    LoupeField,
    /// The graduations of a rule or graticule in this photo or another one.
    Rule,
    /// The resolution tag of a scan.
    ResolutionTag,
}

/// Pixels per millimetre on the sheet, with its 95 % interval.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Scale {
    /// Pixels per millimetre.
    pub value: f64,
    /// Lower end of the 95 % interval.
    pub lo: f64,
    /// Upper end of the 95 % interval.
    pub hi: f64,
    /// Where it comes from.
    pub source: ScaleSource,
}

/// Resolution tags of a file, with what decides whether they are believed.
#[derive(Clone, Copy, Debug, Default)]
pub struct ResolutionClaim {
    /// The container's own field (JFIF, pHYs), px per inch.
    pub container_ppi: Option<f64>,
    /// The EXIF or TIFF field, px per inch.
    pub exif_ppi: Option<f64>,
    /// EXIF says that a camera took the picture.
    pub by_camera: bool,
}

impl Scale {
    /// A scale stated by the user, taken as exact; `None` unless a photograph can have it.
    #[must_use]
    pub fn given(px_per_mm: f64) -> Option<Self> {
        POSSIBLE_PX_PER_MM.contains(&px_per_mm).then_some(Self {
            value: px_per_mm,
            lo: px_per_mm,
            hi: px_per_mm,
            source: ScaleSource::Given,
        })
    }

    /// From the loupe's field diameter in mm and the round field found in the photo.
    ///
    /// The interval joins the maker's tolerance (2 %) with the uncertainty of the found radius.
    /// `None` where no whole round field was found or the diameter is not above 0.
    #[must_use]
    pub fn from_loupe(found: &FoundField, diameter_mm: f64) -> Option<Self> {
        let radius = found.radius_px()?;
        if !(diameter_mm.is_finite() && diameter_mm > 0.0 && radius > 0.0) {
            return None;
        }
        let value = 2.0 * radius / diameter_mm;
        if !POSSIBLE_PX_PER_MM.contains(&value) {
            return None;
        }
        let share = (Z95 * found.radius_se_px / radius).hypot(LOUPE_FIELD_TOLERANCE);
        Some(Self {
            value,
            lo: value / (1.0 + share),
            hi: value * (1.0 + share),
            source: ScaleSource::LoupeField,
        })
    }

    /// From the file's resolution tags, where they can be a scanner's: between 150 and
    /// 12 000 px per inch, agreeing with each other, and no placeholder of a camera.
    #[must_use]
    pub fn from_tags(claim: &ResolutionClaim) -> Option<Self> {
        let ppi = match (claim.container_ppi, claim.exif_ppi) {
            (Some(a), Some(b)) if !same(a, b) => return None,
            (Some(a), _) => a,
            (None, b) => b?,
        };
        let placeholder = claim.by_camera
            && CAMERA_PLACEHOLDERS_PPI
                .iter()
                .any(|p| (ppi - p).abs() < 0.5);
        if placeholder || !BELIEVABLE_PPI.contains(&ppi) {
            return None;
        }
        let value = ppi / MM_PER_INCH;
        Some(Self {
            value,
            lo: value * (1.0 - RESOLUTION_TAG_TOLERANCE),
            hi: value * (1.0 + RESOLUTION_TAG_TOLERANCE),
            source: ScaleSource::ResolutionTag,
        })
    }

    /// Half of its 95 % interval, as a natural logarithm.
    #[must_use]
    pub fn ln_half(&self) -> f64 {
        0.5 * (self.hi / self.lo).ln()
    }

    /// The scale of pixels of another size: `factor` of them in one of these.
    #[must_use]
    pub fn times(&self, factor: f64) -> Self {
        Self {
            value: self.value * factor,
            lo: self.lo * factor,
            hi: self.hi * factor,
            source: self.source,
        }
    }
}

/// The best scale there is: the user's figure, then one measured from a rule, then the loupe's
/// field, then the resolution tag of a picture that no loupe was used for.
#[must_use]
pub fn settle(
    options: &super::ReadOptions,
    found: &FoundField,
    claim: &ResolutionClaim,
) -> Option<Scale> {
    options
        .px_per_mm
        .and_then(Scale::given)
        .or_else(|| options.measured_scale.clone())
        .or_else(|| Scale::from_loupe(found, options.loupe_field_mm?))
        .or_else(|| match found.field {
            super::Field::Frame => Scale::from_tags(claim),
            // A picture through a loupe comes from a camera, whose tag knows no distance.
            super::Field::Round { .. } => None,
        })
}

fn same(a: f64, b: f64) -> bool {
    (a - b).abs() <= SAME_RESOLUTION * a.max(b)
}

/// One resolution for both sides, px per inch; `None` where they differ or are not above 0.
#[must_use]
pub fn square_ppi(x: f64, y: f64) -> Option<f64> {
    (x.is_finite() && y.is_finite() && x > 0.0 && y > 0.0 && same(x, y))
        .then(|| f64::midpoint(x, y))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn claim(ppi: f64, by_camera: bool) -> ResolutionClaim {
        ResolutionClaim {
            container_ppi: Some(ppi),
            exif_ppi: None,
            by_camera,
        }
    }

    #[test]
    fn tags_are_believed_only_where_a_scanner_may_have_written_them() {
        for (ppi, by_camera, believed) in [
            (72.0, false, false),
            (600.0, false, true),
            (300.0, false, true),
            (300.0, true, false),
            (1200.0, true, true),
            (12_700.0, false, false),
        ] {
            let scale = Scale::from_tags(&claim(ppi, by_camera));
            assert_eq!(scale.is_some(), believed, "{ppi} {by_camera}");
        }
        let scale = Scale::from_tags(&claim(600.0, false)).expect("believed");
        assert!((scale.value - 23.622).abs() < 0.001);
    }

    #[test]
    fn tags_that_contradict_each_other_are_not_believed() {
        let claim = ResolutionClaim {
            container_ppi: Some(300.0),
            exif_ppi: Some(600.0),
            by_camera: false,
        };
        assert_eq!(Scale::from_tags(&claim), None);
    }

    #[test]
    fn nonsense_from_the_user_is_no_scale() {
        for bad in [0.0, -3.0, f64::NAN, f64::INFINITY] {
            assert_eq!(Scale::given(bad), None);
        }
    }
}
