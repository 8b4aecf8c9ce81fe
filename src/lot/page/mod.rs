//! The lot sheet: one HTML page that needs no other file and no network; readable without its
//! script, printable as a check-list.

mod rows;
mod words;

pub use words::{not_complete, of_all};

use super::names::CSV_NAME;
use super::ordered::Lot;
use super::record::Pictures;
use super::settings::Settings;
use crate::lot::order::{Ranked, Standing};
use crate::report::words::standing::CAUTIONS;
use crate::report::{figures, words as said};
use maud::{DOCTYPE, Markup, PreEscaped, html};
use std::io::{self, Write};

const STYLE: &str = include_str!("style.css");
const SCRIPT: &str = include_str!("script.js");
/// Most sheets listed with their pictures, at some 15 kB each: a page of more opens slowly. Of those behind them the
/// ones to inspect are listed without pictures, and the tables have them all.
pub const MOST_SHEETS: usize = 2000;
/// Chances of a missed reproduction for which the number of inspections is listed.
const CHANCES: [f64; 4] = [0.2, 0.1, 0.05, 0.01];

/// The sheets that the page lists, in order, with their places counted from 0. None that is to be inspected is
/// left out: the page is the list that people go through.
fn shown(lot: &Lot) -> impl Iterator<Item = (usize, &Ranked)> {
    let ranked = lot.ranked.iter().enumerate();
    ranked.filter(|(place, sheet)| *place < MOST_SHEETS || sheet.inspect)
}

/// Stands for the list in what is around it; no text of the user's can hold it, whose brackets are escaped.
const LIST: &str = "<!--list-->";

/// Writes the page. `pictures` gives the pictures of a sheet by its name; one sheet's at a time are held.
///
/// # Errors
/// Those of `out`.
pub fn write(
    out: &mut dyn Write,
    lot: &Lot,
    settings: &Settings,
    pictures: impl Fn(&str) -> Pictures,
) -> io::Result<()> {
    let page = around_the_list(lot, settings).into_string();
    let (before, after) = page.split_once(LIST).unwrap_or((&page, ""));
    out.write_all(before.as_bytes())?;
    rows::write(out, lot, pictures)?;
    out.write_all(after.as_bytes())
}

fn around_the_list(lot: &Lot, settings: &Settings) -> Markup {
    html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                meta name="generator" content={ "inktell " (env!("CARGO_PKG_VERSION")) };
                title { (settings.title) ": lot sheet" }
                style { (PreEscaped(STYLE)) }
            }
            body {
                main {
                    (head(lot, settings))
                    (inspection(lot, settings))
                    @if let Some(sentence) = words::not_all_shown(lot) {
                        p class="partial" { (sentence) " " a href=(CSV_NAME) { "Open the table" } }
                    }
                    (controls(lot))
                    (PreEscaped(LIST))
                    p class="nothing" hidden { "No sheet matches." }
                    (rules(lot))
                    (foot(lot, settings))
                }
                script { (PreEscaped(SCRIPT)) }
            }
        }
    }
}

fn head(lot: &Lot, settings: &Settings) -> Markup {
    html! {
        header class="masthead" {
            p class="kind" { "Lot sheet" }
            p class="date" { (settings.made) }
        }
        h1 { (settings.title) }
        p class="only" hidden {}
        p class="lead" { (words::totals(lot, settings)) }
        @if let Some(sentence) = words::of_all(lot) { p class="warn" { (sentence) } }
        ul class="counts" {
            @for standing in Standing::ALL {
                li class={ "c-" (standing.key()) } {
                    span class="number" { (lot.count(standing)) }
                    span class="label" { (words::counted_as(standing, lot.count(standing))) }
                }
            }
        }
    }
}

fn inspection(lot: &Lot, settings: &Settings) -> Markup {
    html! {
        section class="inspection" {
            h2 { "How many to inspect by hand" }
            p { (words::inspection(lot, settings)) }
            table class="chances" {
                thead { tr {
                    th { "Chance of a missed reproduction" }
                    th class="figure" { "Inspect by hand" }
                    th class="figure" { "Can go without" }
                } }
                tbody {
                    @for chance in CHANCES {
                        @let at = super::order::inspection(&lot.ranked, chance);
                        tr {
                            td { "at most " (figures::per_cent(chance)) }
                            td class="figure" { (said::counted(at.inspect, "sheet")) }
                            td class="figure" { (said::counted(at.passed, "sheet")) }
                        }
                    }
                }
            }
            p class="aid" { (words::WITHOUT_INSPECTION) }
            p class="aid" { a href="#rests-on" { "What this rests on, and how the sheets are ordered" } }
        }
    }
}

/// Filters and sorting; shown only where the script runs.
fn controls(lot: &Lot) -> Markup {
    // Counted over what is listed: a button must not promise sheets that only the table has.
    let to_inspect = shown(lot).filter(|(_, r)| r.inspect).count();
    let standing_there = |standing| shown(lot).filter(|(_, r)| r.standing == standing).count();
    html! {
        form class="controls" hidden {
            fieldset {
                legend { "Show" }
                (choice("all", "All", shown(lot).count(), true))
                @for standing in Standing::ALL {
                    (choice(standing.key(), words::shown_as(standing), standing_there(standing), false))
                }
                (choice("inspect", "Inspect by hand", to_inspect, false))
            }
            label { "Sort by "
                select name="sort" {
                    option value="rank" { "order of looking" }
                    option value="name" { "name of the sheet" }
                    option value="chance" { "chance of a reproduction" }
                    option value="process" { "process read" }
                }
            }
            label { "Find " input type="search" name="find" placeholder="name, note or reason"; }
            output name="shown" {}
        }
    }
}

fn choice(value: &str, name: &str, count: usize, checked: bool) -> Markup {
    html! {
        label class="choice" {
            input type="radio" name="show" value=(value) checked[checked];
            span { (name) " " b { (count) } }
        }
    }
}

fn rules(lot: &Lot) -> Markup {
    html! {
        @if !lot.rules.is_empty() {
            section class="rules" {
                h2 { "Rules found among the photographs" }
                ul {
                    @for rule in &lot.rules {
                        li {
                            (rule.file) ": "
                            (figures::value_with_interval(rule.px_per_mm[0], Some([rule.px_per_mm[1], rule.px_per_mm[2]]), "pixels per millimetre"))
                        }
                    }
                }
                p class="aid" { "The scale was used for photographs in the same folder and the folders in it, unless another was stated." }
            }
        }
    }
}

fn foot(lot: &Lot, settings: &Settings) -> Markup {
    html! {
        section id="rests-on" {
            h2 { "What the numbers rest on" }
            p { (words::rests_on(settings)) }
            h2 { "How the sheets are ordered" }
            p { (words::rule_of_order(settings)) }
        }
        section class="cautions" {
            h2 { "Cautions" }
            dl {
                @for (title, text) in CAUTIONS { dt { (title) } dd { (text) } }
                @if !lot.compared_across_sheets {
                    dt { "Photographs of one spot" }
                    dd { (words::not_compared()) }
                }
            }
            p class="aid" {
                "Made with inktell " (env!("CARGO_PKG_VERSION")) ", " (settings.made) ". "
                "The same sheets as tables: sheets.csv, sheets.parquet, sheets.jsonl beside this page."
            }
        }
    }
}
