//! Names in the order a person puts them in: plate 2 before plate 10.

use std::cmp::Ordering;

/// Compares names with their numbers taken as numbers, small and large letters alike; names that
/// are the same but for that are told apart at the end, so the order is total.
#[must_use]
pub fn compare(a: &str, b: &str) -> Ordering {
    let (mut left, mut right) = (a.chars().peekable(), b.chars().peekable());
    loop {
        match (left.peek().copied(), right.peek().copied()) {
            (None, None) => return a.cmp(b),
            (None, Some(_)) => return Ordering::Less,
            (Some(_), None) => return Ordering::Greater,
            (Some(x), Some(y)) if x.is_ascii_digit() && y.is_ascii_digit() => {
                let order = compare_numbers(&number(&mut left), &number(&mut right));
                if order != Ordering::Equal {
                    return order;
                }
            }
            (Some(x), Some(y)) => {
                let order = x.to_lowercase().cmp(y.to_lowercase());
                if order != Ordering::Equal {
                    return order;
                }
                left.next();
                right.next();
            }
        }
    }
}

fn number(letters: &mut std::iter::Peekable<std::str::Chars<'_>>) -> String {
    let mut digits = String::new();
    while let Some(digit) = letters.next_if(char::is_ascii_digit) {
        digits.push(digit);
    }
    digits
}

/// Compares numbers of any length by their digits.
fn compare_numbers(a: &str, b: &str) -> Ordering {
    let (a, b) = (a.trim_start_matches('0'), b.trim_start_matches('0'));
    a.len().cmp(&b.len()).then_with(|| a.cmp(b))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_count_as_numbers() {
        let mut names = [
            "Plate 10",
            "plate 2",
            "plate 02b",
            "Plate 1",
            "plate 2a",
            "a/9",
            "a/b",
        ];
        names.sort_by(|a, b| compare(a, b));
        assert_eq!(
            names,
            [
                "a/9",
                "a/b",
                "Plate 1",
                "plate 2",
                "plate 2a",
                "plate 02b",
                "Plate 10"
            ]
        );
        let long = "9".repeat(60);
        assert_eq!(compare(&long, &format!("1{long}")), Ordering::Less);
        assert_ne!(compare("a01", "a1"), Ordering::Equal);
    }
}
