//! Whole pictures pass, damaged ones are told: files of a tiny encoder here, and one progressive file.

mod sample;

use super::fault;
use sample::{Chance, Sample};

/// 17 by 9 pixels in colour, 4:2:0, ten progressive scans; written by libjpeg's `cjpeg`.
const PROGRESSIVE: &str = "FFD8FFDB004300140E0F120F0D14121012171514181E32211E1C1C1E3D2C2E243249404C4B47404645505A736250556D5645466488656D77\
    7B8182814E608D978C7D96737E817CFFDB0043011517171E1A1E3B21213B7C5346537C7C7C7C7C7C7C7C7C7C7C7C7C7C7C7C7C7C7C7C7C7C\
    7C7C7C7C7C7C7C7C7C7C7C7C7C7C7C7C7C7C7C7C7C7C7C7C7C7C7C7CFFC20011080009001103012200021101031101FFC400160001010100\
    000000000000000000000000000103FFC400160101010100000000000000000000000000020001FFDA000C030100021003100000014B3233\
    33FFC400161001010100000000000000000000000000100111FFDA000801010001050230A7FFC40014110100000000000000000000000000\
    000010FFDA0008010301013F013FFFC400161101010100000000000000000000000000001112FFDA0008010201013F01ACBFFFC400181000\
    03010100000000000000000000000000011031A1FFDA0008010100063F029BD10A7FFFC4001A100002020300000000000000000000000000\
    4101711031D1FFDA0008010100013F2162E9407637A4E3FFDA000C03010002000300000010432FFFC4001711000301000000000000000000\
    0000000000011131FFDA0008010301013F10C4447FFFC40017110003010000000000000000000000000000011151FFDA0008010201013F10\
    54A95A7FFFC4001D1000010402030000000000000000000000010011315110F0416181FFDA0008010100013F107E4222908081E1D3113A3A\
    5A0AC7FFD9";

fn progressive() -> Vec<u8> {
    let digit = |byte: u8| (byte as char).to_digit(16).expect("a digit") as u8;
    PROGRESSIVE
        .as_bytes()
        .chunks(2)
        .map(|pair| digit(pair[0]) << 4 | digit(pair[1]))
        .collect()
}

/// Where the data of the first scan starts.
fn first_data(file: &[u8]) -> usize {
    let header = file
        .windows(2)
        .position(|pair| pair == [0xFF, 0xDA])
        .expect("a scan");
    header + 2 + usize::from(file[header + 3])
}

fn some_whole() -> Vec<Vec<u8>> {
    let grey = Sample::new(&[(1, 1)], 0);
    let colour = Sample::new(&[(2, 2), (1, 1), (1, 1)], 0);
    let restarts = Sample::new(&[(2, 1), (1, 1), (1, 1)], 1);
    vec![
        grey.encode(),
        colour.encode(),
        restarts.encode(),
        progressive(),
    ]
}

#[test]
fn whole_pictures_pass() {
    let samplings: [&[(u8, u8)]; 6] = [
        &[(1, 1)],
        &[(2, 2)],
        &[(1, 1), (1, 1), (1, 1)],
        &[(2, 2), (1, 1), (1, 1)],
        &[(3, 1), (1, 1), (1, 2)],
        &[(2, 1), (1, 2), (1, 1), (2, 2)],
    ];
    for sampling in samplings {
        for interval in [0, 1, 3, 1000] {
            for (width, height) in [(1, 1), (8, 8), (17, 9), (53, 37), (200, 3)] {
                for separate in [false, true] {
                    let sample = Sample {
                        width,
                        height,
                        separate,
                        ..Sample::new(sampling, interval)
                    };
                    assert_eq!(
                        fault(&sample.encode()),
                        None,
                        "{width}x{height} {sampling:?} {interval}"
                    );
                }
            }
        }
    }
    assert_eq!(fault(&progressive()), None);
}

#[test]
fn an_end_too_early_is_told_at_every_byte() {
    for whole in some_whole() {
        for cut in first_data(&whole)..whole.len() - 2 {
            let mut early = whole[..cut].to_vec();
            assert!(fault(&early).is_some(), "cut at {cut}");
            early.extend([0xFF, 0xD9]);
            assert!(fault(&early).is_some(), "cut at {cut} and ended");
        }
    }
}

#[test]
fn a_lost_piece_is_told() {
    let whole = Sample {
        width: 400,
        height: 300,
        ..Sample::new(&[(2, 2), (1, 1), (1, 1)], 0)
    }
    .encode();
    let start = first_data(&whole);
    for at in (start..whole.len() - 600).step_by(331) {
        let mut zeroed = whole.clone();
        zeroed[at..at + 512].fill(0);
        assert!(fault(&zeroed).is_some(), "zeros at {at}");
        let without = [&whole[..at], &whole[at + 512..]].concat();
        assert!(fault(&without).is_some(), "lost at {at}");
    }
}

#[test]
fn restart_markers_must_come_in_order() {
    let mut file = Sample::new(&[(1, 1)], 2).encode();
    let second = file
        .windows(2)
        .position(|pair| pair == [0xFF, 0xD1])
        .expect("a restart");
    file[second + 1] = 0xD2;
    assert_eq!(fault(&file), Some("its restart markers are out of order"));
    let mut one_lost = Sample::new(&[(1, 1)], 2).encode();
    one_lost.drain(first_data(&one_lost)..second);
    assert!(fault(&one_lost).is_some());
}

#[test]
fn a_scan_of_a_component_must_not_be_missing() {
    let sample = Sample {
        separate: true,
        ..Sample::new(&[(1, 1), (1, 1)], 0)
    };
    let progressive = progressive();
    for whole in [sample.encode(), progressive] {
        let scans: Vec<usize> = (0..whole.len())
            .filter(|at| whole[*at..].starts_with(&[0xFF, 0xDA]))
            .collect();
        for pair in scans.windows(2) {
            // Without the scan, but with the tables that may stand before the next one.
            let data = pair[0] + 2 + usize::from(whole[pair[0] + 3]);
            let end = (data..)
                .find(|at| whole[*at] == 0xFF && whole[at + 1] != 0)
                .expect("a marker");
            assert!(
                fault(&[&whole[..pair[0]], &whole[end..]].concat()).is_some(),
                "scan at {}",
                pair[0]
            );
        }
        let last = scans.last().expect("a scan");
        let without_last = [&whole[..*last], &[0xFF, 0xD9]].concat();
        assert_eq!(
            fault(&without_last),
            Some("a scan of its picture data is missing")
        );
    }
}

#[test]
fn what_loses_nothing_is_no_fault() {
    let zeros = Sample {
        padding: 0,
        ..Sample::new(&[(2, 2), (1, 1), (1, 1)], 1)
    };
    assert_eq!(fault(&zeros.encode()), None);
    for whole in some_whole() {
        let (body, end) = whole.split_at(whole.len() - 2);
        for extra in [
            &[0xFF, 0xFF][..],
            &[0],
            &[0, 0],
            &[0x7F],
            &[0xFF, 0],
            &[0xFF, 0xD3],
        ] {
            assert_eq!(fault(&[body, extra, end].concat()), None, "{extra:?}");
        }
        assert_eq!(fault(&[&whole[..], b"trailer\xFF\xD8\xFF"].concat()), None);
        let (start, rest) = whole.split_at(2);
        assert_eq!(fault(&[start, &[0, 1, 2], rest].concat()), None);
        for extra in [&[0, 0, 0][..], &[1], &[0xFF, 0xD3, 0x55]] {
            assert!(fault(&[body, extra, end].concat()).is_some(), "{extra:?}");
        }
    }
}

#[test]
fn brightness_out_of_range_is_told() {
    // One difference of category 12, which pictures of 8 bits do not have.
    let mut file = Sample {
        width: 8,
        height: 8,
        ..Sample::new(&[(1, 1)], 0)
    }
    .encode();
    let start = first_data(&file);
    file.splice(start..file.len() - 2, [0b0101_0000, 0, 0b0000_1111]);
    assert_eq!(
        fault(&file),
        Some("its picture data holds a brightness that does not exist")
    );
}

#[test]
fn other_codings_are_not_judged() {
    let whole = Sample::new(&[(1, 1)], 0).encode();
    let frame = whole
        .windows(2)
        .position(|pair| pair == [0xFF, 0xC0])
        .expect("a frame");
    let mut arithmetic = whole.clone();
    arithmetic[frame + 1] = 0xC9;
    let mut height_later = whole.clone();
    height_later[frame + 5..frame + 7].fill(0);
    let tables = whole
        .windows(2)
        .position(|pair| pair == [0xFF, 0xC4])
        .expect("tables");
    let mut no_tables = whole;
    no_tables[tables + 1] = 0xFE;
    for file in [arithmetic, height_later, no_tables] {
        assert_eq!(fault(&file[..file.len() - 9]), None);
    }
}

#[test]
fn arbitrary_bytes_do_no_harm() {
    let mut chance = Chance(1);
    let whole = some_whole();
    for round in 0..20_000 {
        let mut file = whole[round % whole.len()].clone();
        for _ in 0..=chance.below(4) {
            let at = chance.below(file.len());
            file[at] = [0x00, 0xFF, 0x11, chance.below(256) as u8][chance.below(4)];
        }
        file.truncate(file.len() - chance.below(2) * chance.below(file.len()));
        let _ = fault(&file);
    }
    assert!(fault(&[]).is_some());
    assert!(fault(&[0xFF, 0xD8, 0xFF, 0xD9]).is_some());
}
