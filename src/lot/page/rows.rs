//! The sheets as a list.

use super::{MOST_SHEETS, shown, words};
use crate::lot::order::{Ranked, Standing};
use crate::lot::ordered::Lot;
use crate::lot::record::Pictures;
use crate::lot::table;
use crate::report::figures;
use crate::report::words as said;
use crate::weigh::Process;
use maud::{Markup, PreEscaped, html};
use std::io::{self, Write};

/// All sheets in order, a heading above each standing.
pub fn write(
    out: &mut dyn Write,
    lot: &Lot,
    pictures: impl Fn(&str) -> Pictures,
) -> io::Result<()> {
    let mut put = |part: Markup| out.write_all(part.into_string().as_bytes());
    put(PreEscaped("<ol class=\"sheets\">".into()))?;
    for standing in Standing::ALL {
        let mut of_standing = shown(lot)
            .filter(|(_, ranked)| ranked.standing == standing)
            .peekable();
        if of_standing.peek().is_some() {
            put(heading(standing))?;
        }
        for (index, ranked) in of_standing {
            let pictures = match index < MOST_SHEETS {
                true => pictures(&ranked.record.sheet),
                false => Pictures::default(),
            };
            put(row(index + 1, ranked, lot, &pictures))?;
        }
    }
    put(PreEscaped("</ol>".into()))?;
    put(html! {
        @if let Some(sentence) = words::not_all_shown(lot) { p class="aid" { (sentence) } }
    })
}

fn heading(standing: Standing) -> Markup {
    html! {
        li class="group" data-standing=(standing.key()) { h2 { (words::heading(standing)) } }
    }
}

fn row(rank: usize, ranked: &Ranked, lot: &Lot, pictures: &Pictures) -> Markup {
    let record = &ranked.record;
    html! {
        li class={ "sheet s-" (ranked.standing.key()) }
            data-rank=(rank) data-standing=(ranked.standing.key()) data-name=(record.sheet)
            data-chance=(format!("{:.6}", ranked.chance)) data-process=(process_key(ranked))
            data-inspect[ranked.inspect]
        {
            span class="tick" aria-hidden="true" {}
            (picture(pictures))
            div class="text" {
                p class="place" { (rank) }
                h3 {
                    @if let Some(report) = &record.report { a href=(report) { (record.sheet) } } @else { (record.sheet) }
                }
                p class="reading" {
                    span class="badge" { (ranked.standing.name()) }
                    " " (words::process_read(record)) ". "
                    span class="chance" { (chance(ranked)) }
                    @if ranked.inspect { " " span class="inspect" { "Inspect by hand" } }
                }
                (remarks(ranked, lot))
            }
        }
    }
}

fn chance(ranked: &Ranked) -> String {
    let chance = figures::per_cent(ranked.chance);
    if ranked.record.reading_that_counts().is_some() {
        format!("Chance of a reproduction: {chance}.")
    } else {
        format!("Chance of a reproduction: {chance}, as beforehand.")
    }
}

fn process_key(ranked: &Ranked) -> &'static str {
    match &ranked.record.reading {
        None => "not-read",
        Some(reading) => reading.process.map_or("undetermined", Process::key),
    }
}

/// Why, what next, what else.
fn remarks(ranked: &Ranked, lot: &Lot) -> Markup {
    let record = &ranked.record;
    let next = record.reading.as_ref().and_then(|r| {
        let wanted =
            ranked.standing != Standing::LikelyReproduction && ranked.standing != Standing::Period;
        // That photographs contradict each other is told wherever the sheet stands.
        r.to_check().or_else(|| {
            r.next_photographs
                .first()
                .map(String::as_str)
                .filter(|_| wanted)
        })
    });
    // The first unread file's reason is the sentence above where nothing was read.
    let told = usize::from(record.reading.is_none());
    html! {
        p class="why" { (table::why(ranked)) }
        @if let Some(next) = next { p class="next" { b { "Photograph next: " } (said::sentence(next)) } }
        @for unread in record.not_read.iter().skip(told) {
            p class="warn" { (unread.sentence()) }
        }
        @for sentence in ranked.twice.iter().chain(lot.notices(record)) { p class="warn" { (sentence) } }
        @if let Some(note) = &record.note { p class="note" { b { "Note: " } (note) } }
        p class="facts" { (words::photographs(record)) }
    }
}

/// The width that ends a caption: "2.5 mm wide".
fn width_of(caption: &str) -> &str {
    caption
        .rsplit_once("; ")
        .map(|(_, width)| width.trim_end_matches('.'))
        .filter(|width| width.ends_with("wide"))
        .unwrap_or_default()
}

/// The telling detail, with the whole photograph small in its corner.
fn picture(pictures: &Pictures) -> Markup {
    let caption = pictures.detail_caption.as_deref().unwrap_or_default();
    html! {
        @match &pictures.detail {
            Some(detail) => {
                figure {
                    img class="detail" src=(detail) alt=(caption) title=(caption) width="224" height="168"
                        loading="lazy" decoding="async";
                    @if let Some(whole) = &pictures.whole {
                        img class="whole" src=(whole) alt="the whole photograph" loading="lazy" decoding="async";
                    }
                    figcaption { (width_of(caption)) }
                }
            }
            None => figure class="none" { span { "no picture" } }
        }
    }
}
