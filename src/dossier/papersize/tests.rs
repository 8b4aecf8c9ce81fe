use super::tables::named;
use super::*;

fn sheet(height_mm: f64, width_mm: f64) -> Size {
    Size {
        height_mm,
        width_mm,
    }
}

#[test]
fn whole_sheets_have_the_published_millimetres() {
    // check_values: royal 635 × 508, medium 584 × 457, super-royal 686 × 483,
    // elephant 711 × 584, double elephant 1016 × 686, antiquarian 1346 × 787.
    for (name, long, short) in [
        ("royal", 635.0, 508.0),
        ("medium", 584.0, 457.0),
        ("super-royal", 686.0, 483.0),
        ("elephant", 711.0, 584.0),
        ("double elephant", 1016.0, 686.0),
        ("antiquarian", 1346.0, 787.0),
    ] {
        let found = against_all(&sheet(short, long));
        let best = found
            .iter()
            .find(|f| f.name == name && f.fold == Fold::Whole)
            .unwrap();
        assert!(best.fits && best.distance() < 0.1, "{name}: {best:?}");
    }
}

#[test]
fn foldings_halve_the_longer_side() {
    let leaf = Fold::Quarto.leaf(635.0, 508.0);
    assert_eq!((leaf.long_mm, leaf.short_mm), (317.5, 254.0));
    let leaf = Fold::Octavo.leaf(635.0, 508.0);
    assert_eq!((leaf.long_mm, leaf.short_mm), (254.0, 158.75));
    // Folded twice the longer way and once the other.
    assert_eq!(leaf.larger_mm, [LARGER_MM / 2.0, LARGER_MM / 4.0]);
}

#[test]
fn leaves_have_the_published_inches() {
    // Untrimmed leaves, in inches: Etherington and Roberts, "book sizes" (royal octavo), and
    // the same table at trussel.com/books/booksize.htm; crown is of a sheet of 20 × 15.
    for (name, fold, long_in, short_in) in [
        ("royal", Fold::Folio, 20.0, 12.5),
        ("royal", Fold::Quarto, 12.5, 10.0),
        ("royal", Fold::Octavo, 10.0, 6.25),
        ("medium", Fold::Folio, 18.0, 11.5),
        ("medium", Fold::Quarto, 11.5, 9.0),
        ("medium", Fold::Octavo, 9.0, 5.75),
        ("crown", Fold::Folio, 15.0, 10.0),
        ("crown", Fold::Quarto, 10.0, 7.5),
        ("crown", Fold::Octavo, 7.5, 5.0),
    ] {
        let all = against_all(&sheet(long_in * MM_PER_INCH, short_in * MM_PER_INCH));
        let mut same = all.iter().filter(|f| f.name == name && f.fold == fold);
        let best = same.next().unwrap();
        assert!(
            best.fits && best.distance() < 1e-9,
            "{name} {fold:?}: {best:?}"
        );
    }
}

#[test]
fn every_leaf_of_the_tables_may_be_trimmed_and_larger_side_by_side() {
    for size in SIZES {
        for fold in Fold::ALL {
            let leaf = fold.leaf(size.long_in * MM_PER_INCH, size.short_in * MM_PER_INCH);
            let of = |beyond: [f64; 2]| {
                let sides = [leaf.long_mm + beyond[0], leaf.short_mm + beyond[1]];
                // Longer and shorter side must not change places by the change.
                let kept = sides[0] >= sides[1] && sides[1] > 0.0;
                kept.then(|| Fit::of(&sheet(sides[0], sides[1]), size, fold))
            };
            let told = format!("{} {fold:?}", size.name);
            let [long, short] = leaf.larger_mm;
            assert!(of([0.0, 0.0]).unwrap().fits, "{told}");
            let nearly = MEASURED_MM - 0.1;
            assert!(of([nearly, 0.0]).unwrap().fits, "{told}");
            assert!(of([0.0, nearly]).is_none_or(|f| f.fits), "{told}");
            // Larger than measuring leaves open, and no larger than moulds made it.
            for over in [
                [MEASURED_MM + 0.1, 0.0],
                [long - 0.1, 0.0],
                [0.0, short - 0.1],
            ] {
                let outgrown = of(over).is_none_or(|f| f.outgrows() && !f.fits);
                assert!(outgrown, "{told} {over:?}");
            }
            for over in [
                [long + 0.1, 0.0],
                [0.0, short + 0.1],
                [long + 0.1, -TRIMMED_MM - 1.0],
            ] {
                let Some(fit) = of(over) else { continue };
                assert!(
                    !fit.fits && !fit.outgrows() && fit.too_large(),
                    "{told}: {fit:?}"
                );
            }
            if let Some(cut) = of([0.0, -TRIMMED_MM - 0.1]) {
                assert!(
                    !cut.fits && !cut.outgrows() && !cut.too_large(),
                    "{told}: {cut:?}"
                );
            }
        }
    }
}

#[test]
fn foldings_are_known_as_catalogues_abbreviate_them() {
    for (claim, fold) in [
        ("royal folio", Some(Fold::Folio)),
        ("royal fol.", Some(Fold::Folio)),
        ("medium 4to", Some(Fold::Quarto)),
        ("crown 8vo", Some(Fold::Octavo)),
        ("demy 8°", Some(Fold::Octavo)),
        ("imperial", Some(Fold::Whole)),
        ("demy 12mo", None),
        ("crown sextodecimo", None),
    ] {
        assert_eq!(Fold::claimed(claim), fold, "{claim}");
    }
    // A leaf of a quarto may be larger by less than a whole sheet may.
    let claimed = |long, short| in_words(&sheet(long, short), Some("Royal 4to"))[0].clone();
    assert!(claimed(317.0, 254.0).contains("allows the format"));
    assert!(
        claimed(327.0, 254.0).contains("cannot grow"),
        "{}",
        claimed(327.0, 254.0)
    );
    let none = in_words(&sheet(180.0, 110.0), Some("demy 12mo"))[0].clone();
    assert!(none.contains("not in the tables"), "{none}");
}

#[test]
fn trimming_is_allowed_for_and_growth_is_not() {
    let royal_folio =
        |height, width| in_words(&sheet(height, width), Some("Royal folio"))[0].clone();
    assert!(
        royal_folio(495.0, 305.0).contains("allows the format"),
        "{}",
        royal_folio(495.0, 305.0)
    );
    assert!(royal_folio(560.0, 380.0).contains("cannot grow"));
    assert!(royal_folio(400.0, 250.0).contains("unless the sheet was cut down"));
    let small = in_words(&sheet(560.0, 430.0), Some("super royal"));
    assert!(small[0].contains("super-royal whole sheet"), "{}", small[0]);
    assert!(in_words(&sheet(20.0, 20.0), Some("grand eagle"))[0].contains("not in the tables"));
    assert!(in_words(&sheet(20.0, 20.0), None)[0].contains("fits no format"));
}

#[test]
fn a_sheet_larger_than_the_leaf_is_said_to_be_larger_and_not_to_fit() {
    // Medium folio of a sheet of 24 × 19 inches is 483 × 305 mm: 12 mm more is no medium folio.
    let said = in_words(&sheet(495.0, 305.0), None)[0].clone();
    let (fits, larger) = said.split_once(" It is larger than ").unwrap();
    assert!(
        !fits.contains("medium folio") && fits.contains("royal folio"),
        "{said}"
    );
    assert!(
        larger.starts_with("medium folio (untrimmed 483 × 305 mm by "),
        "{said}"
    );
    assert!(larger.contains(" by 12 mm in the longer side; "), "{said}");
    let claimed = |height| in_words(&sheet(height, 305.0), Some("medium folio"))[0].clone();
    assert!(
        claimed(495.0).contains("neither allows"),
        "{}",
        claimed(495.0)
    );
    assert!(
        claimed(485.0).contains("allows the format"),
        "{}",
        claimed(485.0)
    );
    // Antiquarian is the second largest of all, and emperor larger by far.
    let odd = in_words(&sheet(1355.0, 790.0), None)[0].clone();
    assert!(odd.contains("fits no format"), "{odd}");
    assert!(
        odd.contains("it is larger than antiquarian whole sheet"),
        "{odd}"
    );
}

#[test]
fn a_longer_name_is_not_taken_for_a_shorter_one() {
    assert!(is_named("double elephant folio", "double elephant"));
    assert!(!is_named("double elephant folio", "elephant"));
    assert!(is_named("elephant folio", "elephant"));
    assert!(!is_named("super-royal quarto", "royal"));
}

#[test]
fn a_leaf_trimmed_is_nearer_than_one_that_would_have_grown_as_much() {
    let over = Fit::of(
        &sheet(508.0 + 2.0, 317.5),
        &named("royal", 25.0, 20.0, "a"),
        Fold::Folio,
    );
    let under = Fit::of(
        &sheet(508.0 - 2.0, 317.5),
        &named("royal", 25.0, 20.0, "a"),
        Fold::Folio,
    );
    assert!(over.fits && under.fits);
    assert!(under.distance() < over.distance(), "{under:?} {over:?}");
}

#[test]
fn a_plate_book_called_folio_may_be_of_whole_sheets() {
    // 40 × 27 inches, the whole sheet in the tables.
    let said = &in_words(&sheet(1016.0, 686.0), Some("double elephant folio"))[0];
    assert!(
        said.contains("as a whole sheet it fits double elephant"),
        "{said}"
    );
    // Half of it is the folio proper.
    let said = &in_words(&sheet(686.0, 508.0), Some("double elephant folio"))[0];
    assert!(said.starts_with("The size allows"), "{said}");
    // A sheet that is neither.
    let said = &in_words(&sheet(300.0, 200.0), Some("double elephant folio"))[0];
    assert!(said.starts_with("The size speaks against"), "{said}");
    let said = &in_words(&sheet(300.0, 200.0), Some("folio"))[0];
    assert!(said.contains("names a folding and no size"), "{said}");
}
