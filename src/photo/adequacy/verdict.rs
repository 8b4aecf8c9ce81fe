//! From figures to a word and to advice.

use super::{Adequacy, Verdict};
use crate::measured::Measured;
use crate::photo::field::Beside;
use crate::plane::{Mask, Plane, Rgb};

/// Fewest usable pixels that can hold a sample of marks: a square of 200 px.
const FEWEST_PIXELS: usize = 40_000;
/// Brightest usable light under which a picture is called dark (linear, 0–1).
const DARK_LIGHT: f32 = 0.02;
/// Blur beyond which even coarse marks of some 20 px smear into each other, px.
const HOPELESS_BLUR_PX: f64 = 8.0;
/// Blur from which on fine marks of 4–8 px are lost, px.
const SOFT_BLUR_PX: f64 = 2.5;
/// Lines per mm under which nothing of a print's fine structure is left: the widest
/// newspaper screens have 2.4 lines/mm (60 per inch).
const HOPELESS_LP_PER_MM: f64 = 2.0;
/// Finest common screen, 200 lines per inch, in lines per mm.
const FINE_SCREEN_LP_PER_MM: f64 = 7.9;
/// Noise that hides tints, and noise that hides marks, in linear light on paper.
const STRONG_NOISE: f64 = 0.03;
const HOPELESS_NOISE: f64 = 0.15;
/// Clipped shares: what is worth saying, and what leaves nothing.
const MUCH_CLIPPED: f64 = 0.05;
const HOPELESS_CLIPPED: f64 = 0.6;
/// Motion ratio whose lower bound is worth saying.
const MOTION: f64 = 1.4;
/// Blocking ratio whose lower bound is worth saying: above what JPEG of quality 90 and more leaves
/// on the trial photographs (at most 1.35 on 15 of them).
const BLOCKING: f64 = 1.45;

/// Share of the frame from which on it is said that it was left out.
const LEFT_OUT: f64 = 0.01;

/// Fills the verdict and the notes.
pub(super) fn pass(adequacy: &mut Adequacy, linear: &Rgb, usable: &Mask) {
    let mut findings = Vec::new();
    findings.extend(size(usable));
    findings.extend(darkness(linear, usable));
    findings.extend(focus(adequacy));
    findings.extend(resolution(&adequacy.sharpness_lp_per_mm));
    findings.extend(motion(&adequacy.motion_ratio));
    findings.extend(noise(&adequacy.noise));
    findings.extend(clipping(&adequacy.clipped_share));
    findings.extend(blocking(&adequacy.blocking));
    adequacy.verdict = findings
        .iter()
        .map(|(verdict, _)| *verdict)
        .max()
        .unwrap_or(Verdict::Good);
    let faults = findings.into_iter().map(|(_, note)| note);
    adequacy.notes = faults.chain(left_out(&adequacy.beside)).collect();
}

/// Takes out the note that rests on the sharpness.
pub(super) fn take_back_resolution(adequacy: &mut Adequacy) {
    if let Some((_, said)) = resolution(&adequacy.sharpness_lp_per_mm) {
        adequacy.notes.retain(|note| *note != said);
    }
}

/// What is said of parts of the frame that show no sheet.
fn left_out(beside: &Beside) -> Vec<String> {
    let told = |share: f64| share >= LEFT_OUT;
    let mut notes = Vec::new();
    if told(beside.transparent) {
        notes.push(format!(
            "{:.0} % of the picture is transparent and was left out.",
            100.0 * beside.transparent
        ));
    }
    if told(beside.border) {
        notes.push(format!(
            "{:.0} % of the picture is a border of one colour that was put around the photograph; it was left out.",
            100.0 * beside.border
        ));
    }
    if told(beside.black) {
        notes.push(format!(
            "{:.0} % of the picture, pure black at its edge, was left out as surround; where it is solid ink, photograph it with paper around it, or expose longer.",
            100.0 * beside.black
        ));
    }
    if told(beside.white) {
        notes.push(format!(
            "{:.0} % of the picture, pure white beside a darker sheet, was left out as background; crop it away.",
            100.0 * beside.white
        ));
    }
    notes
}

type Finding = Option<(Verdict, String)>;

fn size(usable: &Mask) -> Finding {
    let count = usable.iter().filter(|v| **v).count();
    let counted = match count {
        0 => "No pixel".to_owned(),
        1 => "Only 1 pixel".to_owned(),
        n => format!("Only {n} pixels"),
    };
    (count < FEWEST_PIXELS).then(|| {
        (
            Verdict::Unusable,
            format!("{counted} of the sheet can be used; move closer so that the sheet fills the frame, and avoid reflections."),
        )
    })
}

fn darkness(linear: &Rgb, usable: &Mask) -> Finding {
    let bright = |plane: &Plane| {
        let mut seen = plane.iter().zip(usable);
        seen.any(|(light, usable)| *usable && *light >= DARK_LIGHT)
    };
    (!linear.iter().any(bright)).then(|| {
        (
            Verdict::Unusable,
            "The picture is nearly black; light the sheet from the side and expose for the paper."
                .into(),
        )
    })
}

fn focus(adequacy: &Adequacy) -> Finding {
    let Some(blur) = adequacy.blur_sigma_px.value() else {
        return Some((
            Verdict::Marginal,
            "No sharp edge of ink was found, so focus cannot be judged; photograph a place with marks, and tap on them to focus.".into(),
        ));
    };
    let (verdict, how) = if blur >= HOPELESS_BLUR_PX {
        (Verdict::Unusable, "far out of focus")
    } else if blur >= SOFT_BLUR_PX {
        (Verdict::Marginal, "soft")
    } else {
        return None;
    };
    Some((
        verdict,
        format!(
            "The picture is {how} (blur {blur:.1} px); rest the loupe on the sheet and let the camera focus on a mark."
        ),
    ))
}

fn resolution(sharpness: &Measured) -> Finding {
    let lines = sharpness.value()?;
    let (verdict, lost) = if lines < HOPELESS_LP_PER_MM {
        (Verdict::Unusable, "no screen or fine mark could be seen")
    } else if lines < FINE_SCREEN_LP_PER_MM {
        (Verdict::Marginal, "fine screens would not be seen")
    } else {
        return None;
    };
    Some((
        verdict,
        format!(
            "Structure finer than {lines:.1} line pairs per millimetre is lost, so {lost}; move closer or use a stronger loupe."
        ),
    ))
}

fn motion(ratio: &Measured) -> Finding {
    let figure = ratio.figure().filter(|f| f.lo >= MOTION)?;
    Some((
        Verdict::Marginal,
        format!(
            "The blur is {:.1} times as strong in one direction as across it, as from a shaken camera; hold the phone steadier, lean it on something, or use the self-timer.",
            figure.value
        ),
    ))
}

fn noise(noise: &Measured) -> Finding {
    let value = noise.value().filter(|v| *v >= STRONG_NOISE)?;
    let verdict = if value >= HOPELESS_NOISE {
        Verdict::Unusable
    } else {
        Verdict::Marginal
    };
    Some((
        verdict,
        format!(
            "Noise is strong ({:.1} % of full light on paper); use more light and a lower ISO.",
            100.0 * value
        ),
    ))
}

fn clipping(share: &Measured) -> Finding {
    let value = share.value().filter(|v| *v >= MUCH_CLIPPED)?;
    let verdict = if value >= HOPELESS_CLIPPED {
        Verdict::Unusable
    } else {
        Verdict::Marginal
    };
    Some((
        verdict,
        format!(
            "{:.0} % of the field is lost to pure white or black; expose a little less and avoid reflections.",
            100.0 * value
        ),
    ))
}

fn blocking(ratio: &Measured) -> Finding {
    ratio.figure().filter(|f| f.lo >= BLOCKING)?;
    Some((
        Verdict::Marginal,
        "Strong compression has left its 8-pixel blocks in the picture; give the original file rather than a copy sent by a messenger.".into(),
    ))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_left_out_is_told() {
        let black = Beside {
            black: 0.35,
            ..Beside::default()
        };
        assert!(left_out(&black)[0].starts_with("35 % of the picture, pure black"));
        assert!(left_out(&Beside::default()).is_empty());
    }

    #[test]
    fn pixels_are_counted_in_plain_words() {
        for (width, said) in [
            (0, "No pixel of the sheet can"),
            (1, "Only 1 pixel of the sheet can"),
            (3, "Only 3 pixels of the sheet can"),
        ] {
            let (verdict, sentence) = size(&Mask::from_elem((1, width), true)).unwrap();
            assert_eq!(verdict, Verdict::Unusable);
            assert!(sentence.starts_with(said), "{sentence}");
        }
    }
}
