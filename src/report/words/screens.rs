//! The screens that were found, in a sentence.

use super::{figures, ink_name, list};
use crate::examine::Examined;
use crate::measure::lattice::{InkScreen, Lattice};

/// What screens are called, in the order in which they are told.
const DOTS: &str = "dots on a lattice";
const LINES: &str = "lines on a lattice";
const CROSSED: &str = "crossed rows, but no square screen,";

/// What repeats on the photograph that shows most screens, each ink with its ruling and angle; none where no screen was found.
#[must_use]
pub fn screens_sentence(photos: &[Examined]) -> Option<String> {
    let each = |p: &Examined| {
        (
            p.photo.provenance.file.clone(),
            p.measurements.lattice.clone(),
        )
    };
    screens_sentence_of(&photos.iter().map(each).collect::<Vec<_>>())
}

/// The same of photographs of which no more is at hand than the file's name and what was found.
#[must_use]
pub fn screens_sentence_of(photos: &[(String, Lattice)]) -> Option<String> {
    // Of equals the first.
    let (file, lattice) = photos.iter().rev().max_by_key(|(_, l)| l.inks.len())?;
    let found = sentence(lattice)?;
    Some(if photos.len() > 1 {
        format!("In {file}: {found}")
    } else {
        super::capital(&found)
    })
}

fn sentence(lattice: &Lattice) -> Option<String> {
    let kinds: Vec<String> = [DOTS, LINES, CROSSED]
        .into_iter()
        .filter_map(|kind| {
            let of_kind = |s: &&InkScreen| kind_of(s) == kind;
            let each: Vec<String> = lattice.inks.iter().filter(of_kind).map(described).collect();
            (!each.is_empty()).then(|| format!("{kind} in {}", list(&each)))
        })
        .collect();
    let how = if lattice.is_rosette() {
        ", turned to one another as in process colour printing (a rosette)"
    } else {
        ""
    };
    (!kinds.is_empty()).then(|| format!("{}{how}.", kinds.join("; ")))
}

fn kind_of(screen: &InkScreen) -> &'static str {
    match screen.skew() {
        None => LINES,
        Some(_) if screen.is_square() => DOTS,
        Some(_) => CROSSED,
    }
}

/// Ink, ruling and angle of one screen: "cyan (85 lines an inch, 42°)".
fn described(screen: &InkScreen) -> String {
    let ruling = match (screen.ruling_lpi.value(), screen.period_px.value()) {
        (Some(lpi), _) => Some(format!("{} lines an inch", figures::number(lpi, 0))),
        (None, Some(px)) => Some(format!("{} px apart", figures::number(px, 1))),
        (None, None) => None,
    };
    let angle = screen
        .angle_deg
        .value()
        .map(|degrees| format!("{}°", figures::number(degrees, 0)));
    let pieces = (screen.pieces > 0).then(|| {
        format!(
            "in step in {} pieces, as mechanical tints are laid",
            screen.pieces
        )
    });
    let said: Vec<String> = [ruling, angle, pieces].into_iter().flatten().collect();
    format!(
        "{} ({})",
        ink_name(&format!("{:?}", screen.ink)),
        said.join(", ")
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::ink::Ink;
    use crate::measured::Measured;
    use crate::report::example;

    fn screen(ink: Ink, angle: f64, lpi: Option<f64>, pieces: usize) -> InkScreen {
        let known = |value: f64, unit: &str| Measured::with_standard_error(value, 0.1, unit, 9);
        let ruling_lpi = lpi.map_or_else(|| Measured::missing("no scale"), |l| known(l, "lpi"));
        InkScreen {
            ink,
            ruling_per_cm: ruling_lpi.clone().times(1.0 / 2.54, "lines/cm"),
            ruling_lpi,
            period_px: known(10.04, "px"),
            angle_deg: known(angle, "°"),
            false_alarm: 1e-12,
            vectors_per_px: vec![[0.1, 0.0], [0.0, 0.1]],
            coherence: 0.99,
            pieces,
            amplitude: 0.1,
        }
    }

    #[test]
    fn screens_are_named_with_ruling_and_angle_and_as_a_rosette_where_they_are_one() {
        let mut photos = example::stipple().photos;
        photos[0].measurements.lattice.inks.clear();
        assert_eq!(screens_sentence(&photos), None);
        let three = [(Ink::C, 15.0), (Ink::M, 75.0), (Ink::K, 45.2)];
        photos[0].measurements.lattice.inks = three
            .map(|(ink, angle)| screen(ink, angle, Some(149.6), 0))
            .to_vec();
        assert_eq!(
            screens_sentence(&photos).unwrap(),
            "Dots on a lattice in cyan (150 lines an inch, 15°), magenta (150 lines an inch, 75°) and black (150 lines an inch, 45°), turned to one another as in process colour printing (a rosette)."
        );
        photos[0].measurements.lattice.inks = vec![screen(Ink::K, 40.0, None, 7)];
        assert_eq!(
            screens_sentence(&photos).unwrap(),
            "Dots on a lattice in black (10.0 px apart, 40°, in step in 7 pieces, as mechanical tints are laid)."
        );
        photos[0].measurements.lattice.inks[0].vectors_per_px[1] = [0.02, 0.12];
        assert_eq!(
            screens_sentence(&photos).unwrap(),
            "Crossed rows, but no square screen, in black (10.0 px apart, 40°, in step in 7 pieces, as mechanical tints are laid)."
        );
        photos[0].measurements.lattice.inks = vec![screen(Ink::K, 40.0, None, 0)];
        photos.extend(example::stipple().photos);
        photos[1].measurements.lattice.inks.clear();
        let said = screens_sentence(&photos).unwrap();
        assert!(
            said.starts_with("In plate-7.png: dots on a lattice"),
            "{said}"
        );
    }
}
