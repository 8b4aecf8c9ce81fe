//! The pattern of long and short graduations.

use super::RuleError;
use crate::photo::scale::MM_PER_INCH;

/// Long graduations are at least so many times as long as the short ones.
const LONGER: f64 = 1.12;
/// Lengths of one kind agree within this share of their median (median deviation).
const EVEN: f64 = 0.08;
/// Fewest long graduations, and fewest others.
const FEWEST_LONG: usize = 2;
const FEWEST_SHORT: usize = 5;

/// Parts of an inch that rules are divided in, by halving.
const INCH_PARTS: [f64; 4] = [8.0, 16.0, 32.0, 64.0];
/// A stated length names a part of an inch when it is within this share of it: people write 1.6 for 1.5875.
const STATED_WITHIN: f64 = 0.01;

/// Every how many graduations a longer one stands.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Hierarchy {
    pub longer_every: Vec<usize>,
}

impl Hierarchy {
    /// Finds which of every second, fourth, fifth and tenth graduations stand out; `lengths` holds each
    /// graduation's number in the row and its length.
    pub fn of(lengths: &[(i64, f64)]) -> Result<Self, RuleError> {
        let longer_every: Vec<usize> = [2, 4, 5, 10]
            .into_iter()
            .filter(|every| (0..*every).any(|offset| stands_out(lengths, *every, offset)))
            .collect();
        // Fourths are parts of an inch, and those have longer seconds as well.
        let mut longer_every: Vec<usize> = longer_every
            .iter()
            .copied()
            .filter(|every| *every != 4 || longer_every.contains(&2))
            .collect();
        if longer_every.is_empty() {
            return Err(RuleError::NotARule(
                "no longer graduation stands at every second, fifth or tenth".into(),
            ));
        }
        // Rims drawn by a camera's sharpening leave a stripe half-way between two graduations. Counted with
        // them, each fifth graduation is a tenth, and nothing stands out half-way to it.
        if longer_every == [10] {
            if !longer_half_way(lengths) {
                return Err(RuleError::NotARule(
                    "every tenth graduation is longer but neither every fifth nor every second"
                        .into(),
                ));
            }
            longer_every = vec![5, 10];
        }
        let found = Self { longer_every };
        // Of a row with half steps every tenth is 5 mm (or 0.5 mm) and longer still. Where it is not, these
        // may be the 5 and 10 mm graduations of a rule whose millimetres are lost.
        if found.has(2) && !found.has(4) && !found.has(10) && tenths_are_seen(lengths) {
            return Err(RuleError::NotARule(
                "every second graduation is longer but no tenth is longer still, as if only the long ones of a rule were seen"
                    .into(),
            ));
        }
        Ok(found)
    }

    fn has(&self, every: usize) -> bool {
        self.longer_every.contains(&every)
    }

    /// Refuses a stated graduation that the pattern contradicts: halves lengthen every second
    /// or tenth, whole steps every fifth or tenth, parts of an inch every second and fourth.
    pub fn agrees_with(&self, graduation_mm: f64) -> Result<(), RuleError> {
        if self.has(4) {
            return if is_inch_part(graduation_mm) {
                Ok(())
            } else {
                Err(RuleError::Contradiction(format!(
                    "every fourth graduation is longer, as on a rule with parts of an inch, not {graduation_mm} mm; state the distance of the shortest graduations with --graduation-mm, such as 1.5875 for sixteenths"
                )))
            };
        }
        let seconds = self.has(2);
        let fifths = self.has(5);
        let half_step = leading_digit(graduation_mm) == 5;
        if seconds && !half_step {
            return Err(RuleError::Contradiction(format!(
                "every second graduation is longer, as on a rule with half steps, not {graduation_mm} mm; state the distance of the shortest graduations with --graduation-mm, such as 0.5"
            )));
        }
        if fifths && !seconds && half_step {
            return Err(RuleError::Contradiction(format!(
                "every fifth graduation is longer, as on a rule with whole steps, not {graduation_mm} mm; state the distance of the shortest graduations with --graduation-mm, such as 1"
            )));
        }
        Ok(())
    }
}

fn is_inch_part(mm: f64) -> bool {
    INCH_PARTS
        .iter()
        .any(|part| (mm * part / MM_PER_INCH - 1.0).abs() < STATED_WITHIN)
}

/// Whether, wherever the tenths stand in the row, enough of them are in it to be told.
fn tenths_are_seen(lengths: &[(i64, f64)]) -> bool {
    (0..10).all(|offset| {
        let tenths = lengths.iter().filter(|l| l.0.rem_euclid(10) == offset);
        tenths.count() >= FEWEST_LONG
    })
}

/// Whether the graduations half-way between the tenths are longer than the usual ones: told by medians, for
/// numerals beside the tenths lengthen some of the short ones.
fn longer_half_way(lengths: &[(i64, f64)]) -> bool {
    let lengths_at = |offset: i64| {
        let mut own: Vec<f64> = lengths
            .iter()
            .filter(|l| l.0.rem_euclid(10) == offset)
            .map(|l| l.1)
            .collect();
        own.sort_by(f64::total_cmp);
        own
    };
    let mut all: Vec<f64> = lengths.iter().map(|l| l.1).collect();
    all.sort_by(f64::total_cmp);
    (0..10)
        .filter(|tenth| stands_out(lengths, 10, *tenth))
        .map(|tenth| lengths_at((tenth as i64 + 5) % 10))
        .any(|fifths| fifths.len() >= FEWEST_LONG && middle(&fifths) >= LONGER * middle(&all))
}

fn leading_digit(v: f64) -> u32 {
    let scaled = v / 10_f64.powf(v.log10().floor());
    scaled.round() as u32
}

/// The graduations at `offset` and every `every` further are longer than (nine in ten of) the others, and
/// the commonest kind among the others is of one length.
fn stands_out(lengths: &[(i64, f64)], every: usize, offset: usize) -> bool {
    let (mut long, mut short) = (Vec::new(), Vec::new());
    for (number, length) in lengths {
        if number.rem_euclid(every as i64) == offset as i64 {
            long.push(*length);
        } else {
            short.push(*length);
        }
    }
    if long.len() < FEWEST_LONG || short.len() < FEWEST_SHORT {
        return false;
    }
    long.sort_by(f64::total_cmp);
    short.sort_by(f64::total_cmp);
    // Longest kinds may stand among the long ones; short ones are one kind, except that every
    // tenth leaves fifths or seconds among the others.
    let others_even = deviation(&short) <= EVEN * middle(&short);
    let shortest_long = long[long.len() / 10];
    let longest_short = short[short.len() - 1 - short.len() / 10];
    shortest_long >= LONGER * longest_short && others_even
}

fn middle(sorted: &[f64]) -> f64 {
    sorted.get(sorted.len() / 2).copied().unwrap_or(0.0)
}

fn deviation(sorted: &[f64]) -> f64 {
    let centre = middle(sorted);
    let mut off: Vec<f64> = sorted.iter().map(|v| (v - centre).abs()).collect();
    off.sort_by(f64::total_cmp);
    middle(&off)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn rule(count: usize, length: impl Fn(usize) -> f64) -> Vec<(i64, f64)> {
        (3..3 + count).map(|k| (k as i64, length(k))).collect()
    }

    #[test]
    fn whole_and_half_rules_are_told_apart() {
        let whole = rule(27, |k| {
            if k.is_multiple_of(10) {
                50.0
            } else if k % 5 == 0 {
                40.0
            } else {
                30.0
            }
        });
        let found = Hierarchy::of(&whole).expect("a rule");
        assert!(found.longer_every.contains(&5));
        assert!(found.agrees_with(1.0).is_ok() && found.agrees_with(0.1).is_ok());
        assert!(found.agrees_with(0.5).is_err());
        let half = rule(27, |k| {
            if k.is_multiple_of(10) {
                50.0
            } else if k.is_multiple_of(2) {
                40.0
            } else {
                30.0
            }
        });
        let found = Hierarchy::of(&half).expect("a rule");
        assert!(found.agrees_with(0.5).is_ok() && found.agrees_with(1.0).is_err());
    }

    #[test]
    fn long_graduations_alone_are_no_half_steps() {
        let fives = |k: usize| if k.is_multiple_of(2) { 50.0 } else { 40.0 };
        assert!(matches!(
            Hierarchy::of(&rule(20, fives)),
            Err(RuleError::NotARule(_))
        ));
    }

    #[test]
    fn tenths_alone_are_no_rule() {
        let stripes_between = |k: usize| if k.is_multiple_of(10) { 50.0 } else { 30.0 };
        assert!(matches!(
            Hierarchy::of(&rule(60, stripes_between)),
            Err(RuleError::NotARule(_))
        ));
        // A numeral has lengthened the graduation after each tenth.
        let numerals = |k: usize| match k % 10 {
            0 => 50.0,
            1 => 42.0,
            5 => 40.0,
            _ => 30.0,
        };
        let found = Hierarchy::of(&rule(60, numerals)).expect("a rule");
        assert_eq!(found.longer_every, [5, 10]);
    }

    #[test]
    fn parts_of_an_inch_pass_for_no_millimetres() {
        let sixteenths = rule(20, |k| match k % 8 {
            0 => 50.0,
            4 => 45.0,
            2 | 6 => 35.0,
            _ => 25.0,
        });
        let found = Hierarchy::of(&sixteenths).expect("a rule");
        assert!(found.agrees_with(1.5875).is_ok());
        assert!(found.agrees_with(0.5).is_err() && found.agrees_with(1.0).is_err());
    }

    #[test]
    fn equal_or_irregular_lengths_are_no_rule() {
        assert!(Hierarchy::of(&rule(30, |_| 30.0)).is_err());
        assert!(Hierarchy::of(&rule(30, |k| 20.0 + (k * 7919 % 31) as f64)).is_err());
        assert!(Hierarchy::of(&[]).is_err());
    }
}
