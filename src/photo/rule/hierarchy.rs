//! The pattern of long and short graduations.

use super::RuleError;

/// Long graduations are at least so many times as long as the short ones.
const LONGER: f64 = 1.12;
/// Lengths of one kind agree within this share of their median (median deviation).
const EVEN: f64 = 0.08;
/// Fewest long graduations, and fewest others.
const FEWEST_LONG: usize = 2;
const FEWEST_SHORT: usize = 5;

/// Every how many graduations a longer one stands.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Hierarchy {
    pub longer_every: Vec<usize>,
}

impl Hierarchy {
    /// Finds which of every second, fifth and tenth graduations stand out; `lengths` holds each
    /// graduation's number in the row and its length.
    pub fn of(lengths: &[(i64, f64)]) -> Result<Self, RuleError> {
        let longer_every: Vec<usize> = [2, 5, 10]
            .into_iter()
            .filter(|every| (0..*every).any(|offset| stands_out(lengths, *every, offset)))
            .collect();
        if longer_every.is_empty() {
            return Err(RuleError::NotARule(
                "no longer graduation stands at every second, fifth or tenth".into(),
            ));
        }
        Ok(Self { longer_every })
    }

    /// Refuses a stated graduation that the pattern contradicts: halves lengthen every second
    /// or tenth, whole steps every fifth or tenth.
    pub fn agrees_with(&self, graduation_mm: f64) -> Result<(), RuleError> {
        let seconds = self.longer_every.contains(&2);
        let fifths = self.longer_every.contains(&5);
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
            if k % 10 == 0 {
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
            if k % 10 == 0 {
                50.0
            } else if k % 2 == 0 {
                40.0
            } else {
                30.0
            }
        });
        let found = Hierarchy::of(&half).expect("a rule");
        assert!(found.agrees_with(0.5).is_ok() && found.agrees_with(1.0).is_err());
    }

    #[test]
    fn equal_or_irregular_lengths_are_no_rule() {
        assert!(Hierarchy::of(&rule(30, |_| 30.0)).is_err());
        assert!(Hierarchy::of(&rule(30, |k| 20.0 + (k * 7919 % 31) as f64)).is_err());
        assert!(Hierarchy::of(&[]).is_err());
    }
}
