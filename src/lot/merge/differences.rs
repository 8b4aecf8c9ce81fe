//! In what two parts differ that must be alike in all parts of a lot.

use crate::lot::settings::Settings;
use crate::report::json::round;
use crate::weigh::Process;
use std::collections::BTreeMap;

/// What of the settings differs, as clauses that give both values, the first part's first. Empty where the
/// two fit together.
pub(super) fn between(a: &Settings, b: &Settings) -> Vec<String> {
    let mut clauses: Vec<String> = of_odds(&a.prior, &b.prior).into_iter().collect();
    let (costs_a, costs_b) = (a.costs, b.costs);
    let (scale_a, scale_b) = (&a.scale, &b.scale);
    let share = |settings: &Settings| settings.part.map(|[_, of]| of.to_string());
    let number = |value: f64| Some(value.to_string());
    let given = |value: Option<f64>| value.map(|v| v.to_string());
    for (what, a, b) in [
        (
            "cost of a missed reproduction",
            number(costs_a.missed),
            number(costs_b.missed),
        ),
        (
            "cost of a period print set aside",
            number(costs_a.set_aside),
            number(costs_b.set_aside),
        ),
        (
            "chance of a missed reproduction that may remain",
            number(a.missed_chance),
            number(b.missed_chance),
        ),
        (
            "scale, px/mm",
            given(scale_a.px_per_mm),
            given(scale_b.px_per_mm),
        ),
        (
            "rule for the scale",
            scale_a.rule.clone(),
            scale_b.rule.clone(),
        ),
        (
            "field of the loupe, mm",
            given(scale_a.loupe_field_mm),
            given(scale_b.loupe_field_mm),
        ),
        ("number of parts", share(a), share(b)),
    ] {
        if a != b {
            clauses.push(format!("{what} ({} and {})", said(a), said(b)));
        }
    }
    clauses
}

/// The odds beforehand that differ, as a clause.
pub(super) fn of_odds(a: &BTreeMap<Process, f64>, b: &BTreeMap<Process, f64>) -> Option<String> {
    let of =
        |odds: &BTreeMap<Process, f64>, process| odds.get(&process).map(|v| round(*v).to_string());
    let differ: Vec<String> = Process::ALL
        .into_iter()
        .filter(|process| a.get(process) != b.get(process))
        .map(|process| {
            let (a, b) = (said(of(a, process)), said(of(b, process)));
            format!("{} {a} and {b}", process.name())
        })
        .collect();
    (!differ.is_empty()).then(|| format!("odds beforehand ({})", differ.join(", ")))
}

fn said(value: Option<String>) -> String {
    value.unwrap_or_else(|| "none given".into())
}
