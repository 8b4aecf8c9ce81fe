//! What is told of colour, and what is not where a photograph cannot tell it.

use image::{DynamicImage, ImageFormat, Rgb, RgbImage};
use inktell::measure::Examined;
use inktell::photo::ReadOptions;
use inktell::weigh::{Colouring, Process};
use inktell::{examine, report};
use std::io::Cursor;
use std::path::Path;

fn examined(picture: &DynamicImage) -> Examined {
    let mut bytes = Cursor::new(Vec::new());
    picture
        .write_to(&mut bytes, ImageFormat::Png)
        .expect("encodes");
    let options = ReadOptions {
        px_per_mm: Some(109.0),
        ..ReadOptions::default()
    };
    examine::bytes(&bytes.into_inner(), Path::new("sheet.png"), &options).expect("read")
}

/// That a photograph without colour shows none must not speak against washes, tints and process inks.
#[test]
fn what_a_photograph_without_colour_cannot_show_is_not_weighed() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("fixtures/photos");
    let colour = image::open(folder.join("stippled-petals.jpg")).expect("bundled");
    let grey = DynamicImage::ImageLuma8(colour.to_luma8());
    let [in_colour, in_grey] =
        [&colour, &grey].map(|picture| examine::together(vec![examined(picture)], None).reading);
    let of_colour = ["film.dominance", "fine.amplitude", "layering.ink_hue"];
    let weighed = |reading: &inktell::weigh::Reading, key: &str| {
        reading.findings.iter().any(|f| f.measurement == key)
    };
    for key in of_colour {
        assert!(weighed(&in_colour, key), "{key}");
        assert!(!weighed(&in_grey, key), "{key}");
    }
    assert!(weighed(&in_grey, "marks.clark_evans"));
    assert!(
        in_grey.posterior[&Process::StippleEngraving] > 0.5,
        "{in_grey:?}"
    );
    assert_eq!(in_grey.colouring, [Colouring::Undetermined]);
    assert_eq!(
        report::words::colouring_sentence(&in_grey),
        "Colour: undetermined; these photographs hold no colour."
    );
    assert!(
        in_grey
            .next_photographs
            .iter()
            .any(|n| n.contains("in colour")),
        "{:?}",
        in_grey.next_photographs
    );
}

/// A window on one side and a lamp on the other colour the paper, and nobody washed it.
#[test]
fn light_of_two_colours_is_no_wash() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("fixtures/photos");
    let colour = image::open(folder.join("stippled-petals.jpg")).expect("bundled");
    let black = DynamicImage::ImageLuma8(colour.to_luma8()).into_rgb8();
    let width = black.width() as f32;
    let lit = |drift: f32| {
        let picture = RgbImage::from_fn(black.width(), black.height(), |x, y| {
            let side = x as f32 / width - 0.5;
            let factors = [1.0 - drift * side, 1.0, 1.0 + drift * side];
            let Rgb(light) = *black.get_pixel(x, y);
            // The codes of sRGB are about the 2.2nd root of light.
            Rgb(std::array::from_fn(|c| {
                (0.85 * f32::from(light[c]) * factors[c].powf(1.0 / 2.2)) as u8
            }))
        });
        examine::together(vec![examined(&DynamicImage::ImageRgb8(picture))], None).reading
    };
    for drift in [0.4, 0.6] {
        let reading = lit(drift);
        assert_eq!(reading.colouring, [Colouring::Undetermined], "{drift}");
        assert_eq!(
            report::words::colouring_sentence(&reading),
            "Colour: undetermined; the light on these photographs is of two colours."
        );
        let asked = |n: &String| n.contains("light of one colour");
        assert!(reading.next_photographs.iter().any(asked));
    }
    assert!(!lit(0.05).lit_in_two_colours);
}

/// Spots of cyan, magenta and yellow at places that do not know of each other, on paper.
fn spots_of_three_inks() -> RgbImage {
    const INKS: [[f32; 3]; 3] = [[0.25, 0.7, 0.9], [0.85, 0.25, 0.55], [0.97, 0.9, 0.25]];
    let mut picture = RgbImage::from_pixel(600, 600, Rgb([244, 241, 232]));
    let mut state = 1u32;
    let mut next = || {
        state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
        i64::from(state >> 8) % 600
    };
    for spot in 0..12_000 {
        let (cx, cy, ink) = (next(), next(), INKS[spot % 3]);
        for (dx, dy) in (0..25).map(|i| (i % 5 - 2, i / 5 - 2)) {
            let (x, y) = (cx + dx, cy + dy);
            if dx * dx + dy * dy <= 5 && (0..600).contains(&x) && (0..600).contains(&y) {
                let Rgb(light) = picture.get_pixel_mut(x as u32, y as u32);
                for (value, through) in light.iter_mut().zip(ink) {
                    *value = (f32::from(*value) * through) as u8;
                }
            }
        }
    }
    picture
}

#[test]
fn specks_of_several_inks_are_never_read_as_a_period_process_or_its_colouring() {
    let drawn = DynamicImage::ImageRgb8(spots_of_three_inks());
    let examined = examined(&drawn);
    let breadth = examined.measurements.layering.speck_breadth.value();
    assert!(breadth.is_some_and(|b| b > 0.05), "{breadth:?}");
    let reading = examine::together(vec![examined], None).reading;
    assert!(
        reading.process.is_none_or(|p| p == Process::Halftone),
        "{reading:?}"
    );
    assert!(reading.posterior[&Process::Halftone] > 0.29, "{reading:?}");
    assert!(
        !reading.colouring.contains(&Colouring::HandWash),
        "{reading:?}"
    );
}
