//! Screens made by another engine (Ghostscript), turned, resampled and photographed in miniature:
//! ruling and angle must come back as the engine states them.
//!
//! The bitmaps and `truth.json` come from `fixtures/foreign_screens/make.py`.

use inktell::examine;
use inktell::ink::{Ink, ink_on_paper};
use inktell::measure::lattice::{self, ScreenKind};
use inktell::measure::segment;
use inktell::photo::{
    self, Adequacy, Binning, Field, Photo, Provenance, ReadOptions, Scale, adequacy::Verdict,
    rule::measure_common_rule, scale::ScaleSource,
};
use inktell::weigh::Process;
use ndarray::Array2;
use rand::{RngExt, SeedableRng};
use std::path::{Path, PathBuf};

/// Ruling: the camera, the noise and the few periods of a small bitmap leave less than this.
const RULING_SHARE: f64 = 0.003;
/// Angle, degrees.
const ANGLE_DEG: f64 = 0.15;

struct Foreign {
    file: String,
    line: bool,
    lpi: f64,
    angle_deg: f64,
    dpi: f64,
}

fn folder() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("fixtures/foreign_screens")
}

fn truth() -> Vec<Foreign> {
    let text = std::fs::read_to_string(folder().join("truth.json")).unwrap();
    let json: serde_json::Value = serde_json::from_str(&text).unwrap();
    let of = |s: &serde_json::Value, key: &str| s[key].as_f64().unwrap();
    json["screens"]
        .as_array()
        .unwrap()
        .iter()
        .map(|s| Foreign {
            file: s["file"].as_str().unwrap().to_owned(),
            line: s["spot"] == "line",
            lpi: of(s, "lpi"),
            angle_deg: of(s, "angle_deg"),
            dpi: of(s, "dpi"),
        })
        .collect()
}

/// Ink (1) or paper (0) per device pixel.
fn bitmap(file: &str) -> Array2<f32> {
    let grey = image::open(folder().join(file)).unwrap().to_luma8();
    Array2::from_shape_fn((grey.height() as usize, grey.width() as usize), |(y, x)| {
        f32::from(u8::from(grey.get_pixel(x as u32, y as u32)[0] < 128))
    })
}

/// A camera: turns the sheet counter-clockwise and averages device pixels under each pixel.
struct Camera {
    turn_deg: f64,
    device_per_px: f64,
    size: (usize, usize),
}

impl Camera {
    fn cover(&self, ink: &Array2<f32>, y: usize, x: usize) -> f32 {
        const FINE: i32 = 4;
        let (sin, cos) = self.turn_deg.to_radians().sin_cos();
        let (h, w) = ink.dim();
        let mut sum = 0.0;
        for j in 0..FINE {
            for i in 0..FINE {
                let part = |k: i32| (f64::from(k) + 0.5) / f64::from(FINE) - 0.5;
                let dx = x as f64 + part(i) - self.size.1 as f64 / 2.0;
                let dy = y as f64 + part(j) - self.size.0 as f64 / 2.0;
                // With y down, turning the sheet counter-clockwise turns the reading the other way.
                let sx = (cos * dx - sin * dy) * self.device_per_px + w as f64 / 2.0;
                let sy = (sin * dx + cos * dy) * self.device_per_px + h as f64 / 2.0;
                if sx >= 0.0 && sy >= 0.0 && (sx as usize) < w && (sy as usize) < h {
                    sum += ink[[sy as usize, sx as usize]];
                }
            }
        }
        sum / (FINE * FINE) as f32
    }

    /// Linear light of the sheet under inks of given transmittance, with a little noise.
    fn photograph(&self, plates: &[(&Array2<f32>, [f32; 3])], dpi: f64) -> Photo {
        let mut rng = rand_chacha::ChaCha8Rng::seed_from_u64(7);
        let mut linear = [(); 3].map(|()| Array2::from_elem(self.size, 0.8_f32));
        for y in 0..self.size.0 {
            for x in 0..self.size.1 {
                for (ink, transmittance) in plates {
                    let cover = self.cover(ink, y, x);
                    for (plane, t) in linear.iter_mut().zip(transmittance) {
                        plane[[y, x]] *= 1.0 - cover * (1.0 - t);
                    }
                }
                for plane in &mut linear {
                    plane[[y, x]] += 0.01 * (rng.random::<f32>() - 0.5);
                }
            }
        }
        photo(linear, dpi / 25.4 / self.device_per_px, plates.len() == 1)
    }
}

fn photo(linear: [Array2<f32>; 3], px_per_mm: f64, grey: bool) -> Photo {
    let none = || inktell::measured::Measured::missing("drawn");
    Photo {
        binning: Binning::none(linear[0].ncols(), linear[0].nrows()),
        provenance: Provenance {
            file: "drawn".into(),
            sha256: String::new(),
            format: "none".into(),
            bits_per_sample: 32,
            colour_space: "linear sRGB".into(),
            capture: Vec::new(),
        },
        grey,
        usable: Array2::from_elem(linear[0].dim(), true),
        field: Field::Frame,
        scale: Some(Scale {
            value: px_per_mm,
            lo: px_per_mm,
            hi: px_per_mm,
            source: ScaleSource::Given,
        }),
        adequacy: Adequacy {
            sharpness_cycles_per_px: none(),
            sharpness_lp_per_mm: none(),
            blur_sigma_px: none(),
            noise: none(),
            clipped_share: none(),
            motion_ratio: none(),
            blocking: none(),
            beside: Default::default(),
            verdict: Verdict::Good,
            notes: Vec::new(),
        },
        linear,
    }
}

/// The engine's device has y down: its angles turn clockwise as seen. A line screen of this spot
/// function has its one vector along the cell's y axis.
fn seen_angle_deg(screen: &Foreign, turn_deg: f64) -> (f64, f64) {
    if screen.line {
        (
            (90.0 - screen.angle_deg + turn_deg).rem_euclid(180.0),
            180.0,
        )
    } else {
        ((turn_deg - screen.angle_deg).rem_euclid(90.0), 90.0)
    }
}

fn check(found: &lattice::InkScreen, screen: &Foreign, turn_deg: f64) -> Result<(), String> {
    let lpi = found.ruling_lpi.value().ok_or("no ruling")?;
    let angle = found.angle_deg.value().ok_or("no angle")?;
    let (expected, modulo) = seen_angle_deg(screen, turn_deg);
    let off = (angle - expected + modulo / 2.0).rem_euclid(modulo) - modulo / 2.0;
    if (lpi / screen.lpi - 1.0).abs() > RULING_SHARE || off.abs() > ANGLE_DEG {
        return Err(format!(
            "{}: {lpi:.2} lpi at {angle:.2}°, engine says {:.2} at {expected:.2}°",
            screen.file, screen.lpi
        ));
    }
    // The engine's screens of dots are square to its pixel, and a camera that looks straight at them keeps them so.
    if screen.line == found.is_square() {
        return Err(format!("{}: skew {:?}", screen.file, found.skew()));
    }
    Ok(())
}

fn screens_of(photo: &Photo) -> lattice::Lattice {
    let inked = ink_on_paper(photo);
    lattice::measure(&inked, &segment::find(&inked))
}

#[test]
fn single_screens_come_back_as_the_engine_states_them() {
    let mut faults = Vec::new();
    for (k, screen) in truth()
        .iter()
        .filter(|s| s.file.starts_with("k_"))
        .enumerate()
    {
        let camera = Camera {
            turn_deg: 11.3 * k as f64 - 20.0,
            device_per_px: [1.3, 1.6, 1.15][k % 3],
            size: (430, 560),
        };
        let ink = bitmap(&screen.file);
        let photo = camera.photograph(&[(&ink, [0.05; 3])], screen.dpi);
        let lattice = screens_of(&photo);
        if lattice.kind != ScreenKind::Clustered || lattice.inks.len() != 1 {
            faults.push(format!(
                "{}: {:?} with {} inks",
                screen.file,
                lattice.kind,
                lattice.inks.len()
            ));
            continue;
        }
        faults.extend(check(&lattice.inks[0], screen, camera.turn_deg).err());
    }
    assert!(faults.is_empty(), "{faults:#?}");
}

/// Plates of process colour. Transmittances of their solids, rounded from CIELAB values of ISO 12647-2 in linear sRGB.
const PLATES: [(Ink, &str, [f32; 3]); 4] = [
    (Ink::C, "set_c.png", [0.06, 0.35, 0.8]),
    (Ink::M, "set_m.png", [0.75, 0.06, 0.25]),
    (Ink::Y, "set_y.png", [0.98, 0.85, 0.06]),
    (Ink::K, "set_k.png", [0.03, 0.03, 0.03]),
];

/// All four printed over one another.
fn process_print(camera: &Camera) -> Photo {
    let plates: Vec<Array2<f32>> = PLATES.iter().map(|(_, file, _)| bitmap(file)).collect();
    let layers: Vec<(&Array2<f32>, [f32; 3])> =
        plates.iter().zip(PLATES).map(|(p, i)| (p, i.2)).collect();
    camera.photograph(&layers, truth()[0].dpi)
}

#[test]
fn four_plates_are_each_given_to_their_ink() {
    let camera = Camera {
        turn_deg: -17.0,
        device_per_px: 1.2,
        size: (480, 640),
    };
    let lattice = screens_of(&process_print(&camera));
    let screens = truth();
    for (ink, file, _) in PLATES {
        let screen = screens.iter().find(|s| s.file == file).unwrap();
        let found = lattice.inks.iter().find(|i| i.ink == ink);
        let found = found.unwrap_or_else(|| panic!("{ink:?} not found"));
        check(found, screen, camera.turn_deg).unwrap();
    }
    assert_eq!(lattice.inks.len(), 4);
    assert!(lattice.is_rosette());
}

/// A patch of process colour and nothing else is like few photographs of the reference, and yet a reproduction.
#[test]
fn a_rosette_is_read_as_a_reproduction() {
    let camera = Camera {
        turn_deg: 8.0,
        device_per_px: 1.1,
        size: (560, 780),
    };
    let print = process_print(&camera);
    let picture = image::RgbImage::from_fn(780, 560, |x, y| {
        let [r, g, b] = [0, 1, 2].map(|c| print.linear[c][[y as usize, x as usize]]);
        image::Rgb(palette::Srgb::<u8>::from_linear(palette::LinSrgb::new(r, g, b)).into())
    });
    let mut png = std::io::Cursor::new(Vec::new());
    picture.write_to(&mut png, image::ImageFormat::Png).unwrap();
    let options = ReadOptions {
        px_per_mm: print.scale.as_ref().map(|s| s.value),
        ..ReadOptions::default()
    };
    let examined = examine::bytes(&png.into_inner(), Path::new("print.png"), &options).unwrap();
    let reading = examine::together(vec![examined], None).reading;
    assert_eq!(
        reading.process,
        Some(Process::Halftone),
        "{:?}",
        reading.undetermined_because
    );
}

/// Four cuttings of one screen laid side by side, out of step with one another, as mechanical tints are.
fn cuttings(ink: &Array2<f32>) -> Array2<f32> {
    const SIDE: usize = 480;
    const FROM: [[usize; 2]; 4] = [[0, 0], [131, 77], [263, 151], [401, 213]];
    Array2::from_shape_fn((2 * SIDE, 2 * SIDE), |(y, x)| {
        let [left, top] = FROM[2 * (y / SIDE) + x / SIDE];
        ink[[top + y % SIDE, left + x % SIDE]]
    })
}

#[test]
fn a_screen_cut_up_and_laid_out_of_step_is_found_by_its_pieces() {
    let file = "k_round_150_62.png";
    let screens = truth();
    let screen = screens.iter().find(|s| s.file == file).unwrap();
    let camera = Camera {
        turn_deg: 9.0,
        device_per_px: 1.3,
        size: (738, 738),
    };
    let photo = camera.photograph(&[(&cuttings(&bitmap(file)), [0.05; 3])], screen.dpi);
    let lattice = screens_of(&photo);
    assert_eq!(lattice.inks.len(), 1, "{:?}", lattice.inks);
    assert!(lattice.inks[0].pieces >= 4, "{:?}", lattice.inks);
    check(&lattice.inks[0], screen, camera.turn_deg).unwrap();
}

/// Of five that once were: straight, turned, and looked at aslant.
#[test]
fn no_screen_is_read_as_a_rule() {
    for file in ["k_round_120_0.png", "set_k.png", "k_round_85_15.png"] {
        let bytes = std::fs::read(folder().join(file)).unwrap();
        let name = PathBuf::from(file);
        let photo = photo::from_bytes(&bytes, &name, &ReadOptions::default()).unwrap();
        let read = measure_common_rule(&photo);
        assert!(read.is_err(), "{file}: {read:?}");
    }
}
