//! A trial over photographs that nobody here made, in `../shared/photos` beside the checkout (or in
//! the folder that INKTELL_PHOTOS names). Where there is none it says so and passes: the project's
//! own tests do not need it.
//!
//! The simulated photographs come from two independent programs, one of them driving real
//! halftoning engines, with exact truth in a `.json` beside each; the real ones are scans of prints
//! with the process named in `manifest.csv`.

use inktell::examine;
use inktell::ink::Ink;
use inktell::measure::Examined;
use inktell::photo::ReadOptions;
use inktell::trial::{photos, tally};
use inktell::weigh::Process;
use rayon::prelude::*;
use serde_json::Value;
use std::path::{Path, PathBuf};

fn folder(name: &str) -> Option<PathBuf> {
    let root = std::env::var_os("INKTELL_PHOTOS").map_or_else(
        || Path::new(env!("CARGO_MANIFEST_DIR")).join("../shared/photos"),
        PathBuf::from,
    );
    let folder = root.join(name);
    if !folder.is_dir() {
        println!("{}: not here, nothing tried", folder.display());
    }
    folder.is_dir().then_some(folder)
}

fn examined(photo: &photos::Known) -> Examined {
    let options = ReadOptions {
        px_per_mm: photo.px_per_mm,
        ..ReadOptions::default()
    };
    examine::photograph(&photo.file, &options).expect("a photograph for trials can be read")
}

/// Median of absolute values.
fn median_size(values: &[f64]) -> f64 {
    let mut sizes: Vec<f64> = values.iter().map(|v| v.abs()).collect();
    sizes.sort_by(f64::total_cmp);
    sizes[sizes.len() / 2]
}

/// Smallest turn between two angles that mean the same after `modulo` degrees.
fn turn(a: f64, b: f64, modulo: f64) -> f64 {
    (a - b + modulo / 2.0).rem_euclid(modulo) - modulo / 2.0
}

/// A found screen is the right one within these; other inks' screens lie at least 15° away.
const SAME_RULING: f64 = 0.02;
const SAME_ANGLE_DEG: f64 = 1.0;

#[test]
fn screens_of_foreign_engines_are_given_to_the_right_inks() {
    let Some(folder) = folder("simulated") else {
        return;
    };
    let (mut all, mut ruling, mut angle) = (0, Vec::new(), Vec::new());
    for photo in photos::known(&folder).unwrap() {
        let truth: Value =
            serde_json::from_slice(&std::fs::read(photo.file.with_extension("json")).unwrap())
                .unwrap();
        let Some(inks) = truth["inks"]
            .as_object()
            .filter(|_| photo.process == Some(Process::Halftone))
        else {
            continue;
        };
        let found = examined(&photo).measurements.lattice;
        for (name, ink) in inks
            .iter()
            .filter(|(_, ink)| ink["resolvable"] == true && ink["lattice"].is_string())
        {
            all += 1;
            let named: Ink = serde_json::from_value(Value::String(name.clone())).unwrap();
            let number = |key: &str| ink[key].as_f64().unwrap();
            let Some(screen) = found.inks.iter().find(|s| s.ink == named) else {
                continue;
            };
            let (Some(lpi), Some(deg)) = (screen.ruling_lpi.value(), screen.angle_deg.value())
            else {
                continue;
            };
            let off = lpi / number("lpi_photo_field_mean") - 1.0;
            let turned = turn(
                deg,
                number("angle_field_mean_deg"),
                number("angle_modulo_deg"),
            );
            if off.abs() < SAME_RULING && turned.abs() < SAME_ANGLE_DEG {
                ruling.push(off);
                angle.push(turned);
            }
        }
    }
    println!(
        "{} of {all} screens; median error {:.3} % and {:.3}°",
        ruling.len(),
        100.0 * median_size(&ruling),
        median_size(&angle)
    );
    assert!(
        ruling.len() as f64 >= 0.95 * f64::from(all),
        "{} of {all}",
        ruling.len()
    );
    assert!(median_size(&ruling) <= 0.002);
    assert!(median_size(&angle) <= 0.05);
}

#[test]
fn no_screen_is_found_on_prints_made_by_hand() {
    let tried: usize = ["simulated", "real"]
        .into_iter()
        .filter_map(folder)
        .map(|folder| {
            let by_hand: Vec<_> = photos::known(&folder)
                .unwrap()
                .into_iter()
                .filter(|photo| photo.process != Some(Process::Halftone))
                .collect();
            by_hand.par_iter().for_each(|photo| {
                let found = examined(photo).measurements.lattice;
                let file = photo.file.display();
                assert!(found.inks.is_empty(), "{file}: {:?}", found.inks);
            });
            by_hand.len()
        })
        .sum();
    println!("{tried} prints made by hand, no screen on any");
    // Without the photographs nothing is tried; with them no list may have come out empty.
    assert!(tried == 0 || tried >= 20, "only {tried} prints tried");
}

/// Tints of dots rubbed down in pieces on cards of 1909 and 1910: by the manifest about 5.2 px apart.
const CARD_TINT_PX: f64 = 5.2;

#[test]
fn tints_laid_in_pieces_are_found_on_real_cards() {
    let Some(folder) = folder("real") else {
        return;
    };
    let cards: Vec<_> = photos::known(&folder)
        .unwrap()
        .into_iter()
        .filter(|photo| photo.file.to_string_lossy().contains("mechanical_tint"))
        .collect();
    let is_tint = |px: f64| (px / CARD_TINT_PX - 1.0).abs() < 0.02;
    let found = cards
        .par_iter()
        .filter(|card| {
            let inks = examined(card).measurements.lattice.inks;
            inks.iter().any(|ink| {
                ink.vectors_per_px.len() == 2 && ink.period_px.value().is_some_and(is_tint)
            })
        })
        .count();
    println!("{found} of {} cards show their tint of dots", cards.len());
    assert!(cards.len() >= 8 && found >= 7, "{found} of {}", cards.len());
}

#[test]
fn no_simulated_reproduction_is_called_a_period_print() {
    let Some(folder) = folder("simulated") else {
        return;
    };
    let known = photos::known(&folder).unwrap();
    let (outcomes, unread) = photos::read_all(&known, &|| ());
    assert!(unread.is_empty(), "{unread:?}");
    println!("{}", tally::describe(&outcomes));
    assert_eq!(tally::tally(&outcomes).reproductions_called_period, 0);
}
