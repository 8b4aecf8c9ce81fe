//! Reading photo files: limits, orientation, profile, provenance.

use super::colour::{self, ColourClaim};
use super::container::{self, Refusal};
use super::pixels::{self, DecodeFault, Decoded, Samples};
use super::scale::ResolutionClaim;
use super::{Photo, Provenance, capture, claims, upright};
use crate::plane::Rgb;
use sha2::{Digest, Sha256};
use std::fmt::Write as _;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::{Path, PathBuf};

/// SHA-256 of `bytes` in lower-case hexadecimal, as `sha256sum` prints it.
#[must_use]
pub fn sha256_hex(bytes: &[u8]) -> String {
    Sha256::digest(bytes)
        .iter()
        .fold(String::with_capacity(64), |mut text, byte| {
            let _ = write!(text, "{byte:02x}");
            text
        })
}

/// How a photo is to be read.
#[derive(Clone, Debug)]
pub struct ReadOptions {
    /// Largest picture accepted, megapixels (10⁶ px). Checked before decoding.
    pub max_megapixels: f64,
    /// Pixels per millimetre stated by the user.
    pub px_per_mm: Option<f64>,
    /// Diameter of the loupe's field in mm, to be used where a round field is found.
    pub loupe_field_mm: Option<f64>,
    /// A scale measured in another photo taken with the same setting.
    pub measured_scale: Option<super::Scale>,
}

impl Default for ReadOptions {
    fn default() -> Self {
        Self {
            max_megapixels: 200.0,
            px_per_mm: None,
            loupe_field_mm: None,
            measured_scale: None,
        }
    }
}

/// Why a photo could not be read; every text names the file and what to do next.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum PhotoError {
    /// The file could not be opened or read.
    #[error("{}: cannot be read ({said}); check the path and permissions", file.display())]
    Unreadable {
        /// The file.
        file: PathBuf,
        /// What the system said; part of the text, so no source of its own.
        said: std::io::Error,
    },
    /// The bytes are not a picture this program knows, or are damaged.
    #[error("{}: {what}; {mend}", file.display())]
    NotAPicture {
        /// The file.
        file: PathBuf,
        /// What was wrong.
        what: String,
        /// What to do next.
        mend: String,
    },
    /// The picture is larger than the limit.
    #[error("{}: {} megapixels is over the limit of {limit}; raise --max-megapixels, or photograph or scan a smaller part", file.display(), above(*megapixels, *limit))]
    TooLarge {
        /// The file.
        file: PathBuf,
        /// Its size, 10⁶ px.
        megapixels: f64,
        /// The limit, 10⁶ px.
        limit: f64,
    },
}

/// A size over a limit, with as many decimals as it takes to be seen that it is over.
fn above(megapixels: f64, limit: f64) -> String {
    // A single pixel is the sixth decimal.
    const MOST_DECIMALS: usize = 6;
    [0_usize, 2, 4]
        .into_iter()
        .map(|decimals| format!("{megapixels:.decimals$}"))
        .find(|text| text.parse::<f64>().is_ok_and(|shown| shown > limit))
        .unwrap_or_else(|| format!("{megapixels:.MOST_DECIMALS$}"))
}

/// Reads a photo file into linear light.
///
/// # Errors
/// [`PhotoError`] when the file is missing, damaged, no picture, or over the size limit.
pub fn read(path: &Path, options: &ReadOptions) -> Result<Photo, PhotoError> {
    let bytes = std::fs::read(path).map_err(|said| PhotoError::Unreadable {
        file: path.to_owned(),
        said,
    })?;
    from_bytes(&bytes, path, options)
}

/// Reads a photo from the bytes of a file; `path` only names it.
///
/// # Errors
/// [`PhotoError`] when the bytes are damaged, no picture, or over the size limit.
pub fn from_bytes(bytes: &[u8], path: &Path, options: &ReadOptions) -> Result<Photo, PhotoError> {
    // Decoders are third-party code fed with arbitrary bytes: a panic in one is that file's
    // fault, and must not take a whole lot of photographs down with it.
    let outcome = catch_unwind(AssertUnwindSafe(|| decode(bytes, path, options)));
    outcome
        .unwrap_or_else(|_| {
            Err(Refusal::new(
                "the decoder gave up on these bytes",
                "open it in a viewer and save it again as PNG or JPEG",
            )
            .into())
        })
        .map_err(|fault| in_words(fault, path, options))
}

/// A photograph made of planes already in linear light (drawn or computed), judged like a file.
#[must_use]
pub fn from_linear(linear: Rgb, provenance: Provenance, options: &ReadOptions) -> Photo {
    let grey = linear[0] == linear[1] && linear[1] == linear[2];
    let picture = colour::LinearPicture {
        linear,
        opaque: None,
        grey,
        colour_space: String::new(),
    };
    Photo::judged(picture, provenance, &ResolutionClaim::default(), options)
}

fn in_words(fault: DecodeFault, path: &Path, options: &ReadOptions) -> PhotoError {
    let file = path.to_owned();
    match fault {
        DecodeFault::Refused(Refusal { what, mend }) => {
            PhotoError::NotAPicture { file, what, mend }
        }
        DecodeFault::TooLarge(megapixels) => PhotoError::TooLarge {
            file,
            megapixels,
            limit: options.max_megapixels,
        },
    }
}

fn decode(bytes: &[u8], path: &Path, options: &ReadOptions) -> Result<Photo, DecodeFault> {
    let container = container::recognise(bytes)?;
    let decoded = pixels::decode(bytes, container, options.max_megapixels)?;
    let claims = claims::read(bytes, container);
    let capture = capture::read(decoded.exif.clone(), bytes, container);
    if capture.is_raw {
        return Err(container::camera_raw().into());
    }
    let claim = ColourClaim {
        icc: decoded.icc.clone(),
        adobe_rgb: capture.adobe_rgb,
        gamma: claims.gamma,
    };
    let bits_per_sample = decoded.bits_per_sample;
    let pages = decoded.pages;
    let picture = colour::to_linear(upright_samples(decoded), &claim);
    let provenance = Provenance {
        file: path
            .file_name()
            .map(|name| name.to_string_lossy().into_owned())
            .unwrap_or_default(),
        sha256: sha256_hex(bytes),
        format: container.name().to_owned(),
        bits_per_sample,
        colour_space: picture.colour_space.clone(),
        capture: capture.facts.into_iter().chain(first_of(pages)).collect(),
    };
    let resolution = ResolutionClaim {
        container_ppi: claims.resolution_ppi,
        exif_ppi: capture.resolution_ppi,
        by_camera: capture.by_camera,
    };
    Ok(Photo::judged(picture, provenance, &resolution, options))
}

/// That others follow the picture that was read.
fn first_of(pages: usize) -> Option<(String, String)> {
    (pages > 1).then(|| {
        let others = pages - 1;
        (
            "Pictures in the file".into(),
            format!("{pages}; the first was read, not the other {others}"),
        )
    })
}

fn upright_samples(decoded: Decoded) -> Samples {
    let way = decoded.orientation;
    match decoded.samples {
        Samples::Eight(raster) => Samples::Eight(upright::turn(raster, way)),
        Samples::Sixteen(raster) => Samples::Sixteen(upright::turn(raster, way)),
        Samples::Float(raster) => Samples::Float(upright::turn(raster, way)),
        Samples::Cmyk(raster) => Samples::Cmyk(upright::turn(raster, way)),
    }
}

#[cfg(test)]
mod tests {
    #[test]
    fn a_picture_over_the_limit_is_told_with_decimals_that_show_it() {
        let said = |megapixels, limit| {
            let file = "plate-7.jpg".into();
            super::PhotoError::TooLarge {
                file,
                megapixels,
                limit,
            }
            .to_string()
        };
        for (megapixels, limit, text) in [
            (
                1.21,
                1.0,
                "plate-7.jpg: 1.21 megapixels is over the limit of 1;",
            ),
            (260.4, 200.0, "260 megapixels is over the limit of 200;"),
            (0.0713, 0.001, "0.07 megapixels is over the limit of 0.001;"),
            (1.000_01, 1.0, "1.000010 megapixels is over the limit of 1;"),
        ] {
            let said = said(megapixels, limit);
            assert!(said.contains(text), "{said}");
            assert!(said.contains("--max-megapixels"), "{said}");
        }
    }

    #[test]
    fn the_hash_is_that_of_the_standard() {
        // FIPS 180-2, appendix B.1.
        assert_eq!(
            super::sha256_hex(b"abc"),
            "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
        );
    }
}
