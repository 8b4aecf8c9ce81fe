//! How the screens of several inks lie to each other.

use super::basis::off_right_angle_deg;
use super::{BetweenInks, IN_STEP, InkScreen, Lattice};
use crate::measured::Measured;

/// Least turn between the screens of two inks of a rosette, degrees: the usual angles lie 15 or 30° apart (DIN 16547, from
/// memory), and two waves of one structure lie square to each other or alike.
const APART_DEG: f64 = 10.0;
/// Most that the rulings of a rosette's inks differ, the coarser over the finer; yellow is often ruled a tenth finer
/// (common practice).
const RULINGS_ALIKE: f64 = 1.15;
/// Inks of a rosette.
const INKS: usize = 3;
/// Farthest that two vectors taken to be at a right angle are from it, degrees.
const NEARLY_RIGHT_DEG: f64 = 2.0;

/// Whether a screen looks the same after a quarter turn, as far as its directions go.
fn is_right_angled(screen: &InkScreen) -> bool {
    match screen.vectors_per_px[..] {
        [a, b] => off_right_angle_deg(a, b) <= NEARLY_RIGHT_DEG,
        _ => false,
    }
}

/// Angles between the screens of every two inks.
pub(super) fn between(screens: &[InkScreen]) -> Vec<BetweenInks> {
    let pairs = screens
        .iter()
        .enumerate()
        .flat_map(|(i, first)| screens[i + 1..].iter().map(move |second| (first, second)));
    pairs
        .map(|(first, second)| BetweenInks {
            inks: [first.ink, second.ink],
            angle_deg: angle_between(first, second),
        })
        .collect()
}

fn angle_between(first: &InkScreen, second: &InkScreen) -> Measured {
    let (Some(a), Some(b)) = (first.angle_deg.figure(), second.angle_deg.figure()) else {
        return Measured::missing("the angle of one of the two screens is unknown");
    };
    let modulo = if is_right_angled(first) && is_right_angled(second) {
        90.0
    } else {
        180.0
    };
    let apart = (a.value - b.value).rem_euclid(modulo);
    let value = apart.min(modulo - apart);
    let half = (0.5 * (a.hi - a.lo)).hypot(0.5 * (b.hi - b.lo));
    Measured::with_interval(
        value,
        (value - half).max(0.0),
        (value + half).min(0.5 * modulo),
        "°",
        a.n.min(b.n),
    )
}

impl Lattice {
    /// Whether square screens of dots of three inks or more, well in step and of about one ruling, are turned to one another as
    /// those of process colour printing are.
    #[must_use]
    pub fn is_rosette(&self) -> bool {
        let dots: Vec<&InkScreen> = self
            .inks
            .iter()
            .filter(|s| s.is_square() && s.coherence >= IN_STEP)
            .collect();
        dots.iter().any(|first| {
            let mut turned = vec![*first];
            for next in &dots {
                if turned.iter().all(|ink| are_turned(ink, next)) {
                    turned.push(next);
                }
            }
            turned.len() >= INKS
        })
    }
}

/// Whether the screens of two inks are of about one ruling and turned to one another.
fn are_turned(a: &InkScreen, b: &InkScreen) -> bool {
    let (Some(p), Some(q)) = (a.period_px.value(), b.period_px.value()) else {
        return false;
    };
    let apart = angle_between(a, b).value();
    (p / q).max(q / p) <= RULINGS_ALIKE && apart.is_some_and(|degrees| degrees >= APART_DEG)
}

#[cfg(test)]
pub(super) mod tests {
    use super::*;
    use crate::ink::Ink;
    use crate::measure::lattice::by_waves;
    use crate::measure::segment::tests::inked_from;

    /// A screen of dots at an angle, its interval 0.1° either way.
    pub(in crate::measure::lattice) fn screen(ink: Ink, angle: f64, vectors: usize) -> InkScreen {
        let missing = || Measured::missing("not needed");
        let along = |turn: f64| {
            let (sin, cos) = (angle + turn).to_radians().sin_cos();
            [0.1 * cos, -0.1 * sin]
        };
        InkScreen {
            ink,
            ruling_lpi: missing(),
            ruling_per_cm: missing(),
            period_px: Measured::with_interval(10.0, 9.9, 10.1, "px", 9),
            angle_deg: Measured::with_interval(angle, angle - 0.1, angle + 0.1, "°", 9),
            false_alarm: 1e-9,
            vectors_per_px: [0.0, 90.0][..vectors].iter().map(|&t| along(t)).collect(),
            coherence: 1.0,
            pieces: 0,
            amplitude: 0.1,
        }
    }

    #[test]
    fn process_inks_lie_thirty_and_fifteen_degrees_apart() {
        // The usual angles of four-colour work (DIN 16547, from memory): C 15°, M 75°, Y 0°, K 45°.
        let four = [
            (Ink::K, 45.0),
            (Ink::C, 15.0),
            (Ink::M, 75.0),
            (Ink::Y, 0.0),
        ];
        let found = between(&four.map(|(ink, angle)| screen(ink, angle, 2)));
        let apart = |a: Ink, b: Ink| {
            let pair = found.iter().find(|p| p.inks == [a, b]).unwrap();
            pair.angle_deg.figure().unwrap().clone()
        };
        for (a, b, degrees) in [
            (Ink::K, Ink::C, 30.0),
            (Ink::K, Ink::M, 30.0),
            (Ink::C, Ink::M, 30.0),
            (Ink::C, Ink::Y, 15.0),
            (Ink::M, Ink::Y, 15.0),
            (Ink::K, Ink::Y, 45.0),
        ] {
            let angle = apart(a, b);
            approx::assert_abs_diff_eq!(angle.value, degrees, epsilon = 1e-9);
            assert!(angle.lo < degrees && angle.hi >= degrees, "{angle:?}");
        }
        assert_eq!(found.len(), 6);
    }

    #[test]
    fn a_line_screen_may_lie_square_to_another() {
        let found = between(&[screen(Ink::K, 10.0, 1), screen(Ink::C, 100.0, 2)]);
        approx::assert_abs_diff_eq!(found[0].angle_deg.value().unwrap(), 90.0, epsilon = 1e-9);
    }

    fn with(inks: &[(Ink, f64, usize)]) -> Lattice {
        let blank = crate::plane::Plane::from_elem((100, 100), 0.8);
        let inked = inked_from(std::array::from_fn(|_| blank.clone()), None);
        let mut lattice = by_waves(&inked).lattice;
        lattice.inks = inks
            .iter()
            .map(|&(ink, angle, n)| screen(ink, angle, n))
            .collect();
        lattice
    }

    #[test]
    fn three_inks_turned_to_one_another_are_a_rosette() {
        let usual = [(Ink::C, 15.0, 2), (Ink::M, 75.0, 2), (Ink::Y, 0.0, 2)];
        assert!(with(&usual).is_rosette());
        // Alike or square to each other, as two waves of one structure; lines; two inks.
        assert!(!with(&[(Ink::C, 15.0, 2), (Ink::M, 104.0, 2), (Ink::Y, 16.0, 2)]).is_rosette());
        assert!(!with(&usual.map(|(ink, angle, _)| (ink, angle, 1))).is_rosette());
        assert!(!with(&usual[..2]).is_rosette());
        // Of quite other rulings.
        let mut coarse = with(&usual);
        coarse.inks[1].period_px = Measured::with_interval(20.0, 19.0, 21.0, "px", 9);
        assert!(!coarse.is_rosette());
    }
}
