//! Prior probabilities from the command line.

use inktell::weigh::Process;
use std::collections::BTreeMap;

/// Sums this close to 1 count as 1: people write shares to two digits.
const ROUNDING: f64 = 0.011;

/// Prior probability of each process; all above 0, sum 1.
#[derive(Clone, Debug, PartialEq)]
pub struct Prior(pub BTreeMap<Process, f64>);

/// Reads `stipple-engraving=0.5,halftone=0.2`. Processes that are not named share what is left.
pub fn parse(text: &str) -> Result<Prior, String> {
    let mut named = BTreeMap::new();
    for part in text.split(',').map(str::trim).filter(|p| !p.is_empty()) {
        let (process, share) = parse_one(part)?;
        if named.insert(process, share).is_some() {
            return Err(format!("{} is given twice", process.key()));
        }
    }
    complete(named)
}

fn parse_one(part: &str) -> Result<(Process, f64), String> {
    let (key, share) = part
        .split_once('=')
        .ok_or_else(|| format!("\"{part}\" is not of the form process=probability"))?;
    let process = Process::ALL
        .into_iter()
        .find(|p| p.key() == key.trim())
        .ok_or_else(|| {
            let keys = Process::ALL.map(Process::key).join(", ");
            format!("\"{key}\" is no process; choose from {keys}")
        })?;
    let share: f64 = share
        .trim()
        .parse()
        .map_err(|_| format!("\"{share}\" is not a number"))?;
    if !(share > 0.0 && share < 1.0) {
        return Err(format!(
            "the probability of {key} must lie between 0 and 1 (neither 0 nor 1): nothing is impossible or certain beforehand"
        ));
    }
    Ok((process, share))
}

fn complete(named: BTreeMap<Process, f64>) -> Result<Prior, String> {
    let sum: f64 = named.values().sum();
    let unnamed = Process::ALL.len() - named.len();
    if unnamed == 0 {
        if (sum - 1.0).abs() > ROUNDING {
            return Err(format!(
                "the five probabilities add up to {sum:.2}, not to 1"
            ));
        }
        return Ok(Prior(
            named.into_iter().map(|(p, v)| (p, v / sum)).collect(),
        ));
    }
    let left = 1.0 - sum;
    if left <= 0.0 {
        return Err(format!(
            "the probabilities given add up to {sum:.2} and leave nothing for the other processes"
        ));
    }
    let share = left / unnamed as f64;
    let of = |process| named.get(&process).copied().unwrap_or(share);
    Ok(Prior(
        Process::ALL.into_iter().map(|p| (p, of(p))).collect(),
    ))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn unnamed_processes_share_the_rest() {
        let Prior(prior) = parse("halftone=0.6, lithograph=0.1").unwrap();
        assert!((prior[&Process::Halftone] - 0.6).abs() < 1e-12);
        assert!((prior[&Process::StippleEngraving] - 0.1).abs() < 1e-12);
        assert!((prior.values().sum::<f64>() - 1.0).abs() < 1e-12);
    }

    #[test]
    fn what_makes_no_sense_is_refused_with_a_reason() {
        for (text, reason) in [
            ("halftone", "process=probability"),
            ("woodcut=0.2", "no process"),
            ("halftone=x", "not a number"),
            ("halftone=1", "between 0 and 1"),
            ("halftone=NaN", "between 0 and 1"),
            ("halftone=0.5,halftone=0.1", "twice"),
            ("halftone=0.7,lithograph=0.4", "leave nothing"),
        ] {
            let error = parse(text).unwrap_err();
            assert!(error.contains(reason), "{text}: {error}");
        }
    }
}
