//! A dossier as a page that needs nothing else.

use super::figure;
use crate::dossier::account::{Account, Block, Part, Shown};
use crate::dossier::contents::Contents;
use crate::report::html::viewer;
use crate::report::words::counted;
use maud::{DOCTYPE, Markup, PreEscaped, html};

const STYLE: &str = include_str!("../../report/html/style.css");
const OWN_STYLE: &str = include_str!("dossier.css");

/// The whole page. Photographs are shown as they were measured, with layers to switch.
#[must_use]
pub fn page(account: &Account, contents: &dyn Contents) -> String {
    let photographs = account
        .parts
        .iter()
        .flat_map(|part| &part.blocks)
        .filter(|block| matches!(block, Block::Photograph(_)))
        .count();
    let mut setter = Setter {
        contents,
        index: 0,
        photographs,
    };
    let page = html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                meta name="generator" content={ "inktell " (env!("CARGO_PKG_VERSION")) };
                title { "Dossier: " (account.title) }
                style { (PreEscaped(STYLE)) (PreEscaped(OWN_STYLE)) }
            }
            body class="dossier" {
                main {
                    header class="masthead" {
                        p class="kind" { "Dossier of a printed sheet" }
                        p class="date" { (account.made) }
                        p class="files" { (counted(account.foot.entries as usize, "entry")) "; " (account.foot.signed) }
                    }
                    h1 { (account.title) }
                    @for part in &account.parts { (setter.part(part)) }
                    (foot(account))
                }
            }
        }
    };
    page.into_string()
}

fn foot(account: &Account) -> Markup {
    html! {
        footer {
            p { "Entry " (account.foot.entries) ", SHA-256 " code { (account.foot.sha256) } }
            p { (account.foot.signed) }
            p { "Made " (account.made) " by inktell " (env!("CARGO_PKG_VERSION")) }
        }
    }
}

struct Setter<'a> {
    contents: &'a dyn Contents,
    index: usize,
    photographs: usize,
}

impl Setter<'_> {
    fn part(&mut self, part: &Part) -> Markup {
        html! {
            section {
                h2 { (part.heading) }
                @for block in &part.blocks { (self.block(block)) }
            }
        }
    }

    fn block(&mut self, block: &Block) -> Markup {
        match block {
            Block::Lead(text) => html! { p class="lead" { (broken(text)) } },
            Block::Text(text) => html! { p { (broken(text)) } },
            Block::Notice(text) => html! { p class="notice" { (broken(text)) } },
            Block::Small(text) => html! { p class="aid" { (broken(text)) } },
            Block::Rows(rows) => html! {
                table class="facts" { tbody {
                    @for (label, value) in rows {
                        tr { th scope="row" { (label) } td { (broken(value)) } }
                    }
                } }
            },
            Block::Findings(rows) => html! {
                table class="findings" {
                    thead { tr { th { "Finding" } th class="figure" { "Measured" } th class="figure" { "Weight" } } }
                    tbody { @for row in rows {
                        tr {
                            td class="what" { (row.title) p { (row.because) } }
                            td class="figure" data-label="Measured" { (row.value) }
                            td class="figure" data-label="Weight" { (row.weight) }
                        }
                    } }
                }
            },
            Block::Entry { title, meta } => html! {
                h3 class="entry" { (title) }
                p class="aid" { (meta) }
            },
            Block::Photograph(shown) => self.photograph(shown),
        }
    }

    fn photograph(&mut self, shown: &Shown) -> Markup {
        let index = self.index;
        self.index += 1;
        html! {
            @match figure::examined(self.contents, shown) {
                Ok(examined) => { (viewer::photograph(&examined, index, self.photographs)) }
                Err(why) => { p class="notice" { (why) "." } }
            }
            p class="aid" { (shown.caption) }
        }
    }
}

/// Text with its line breaks.
fn broken(text: &str) -> Markup {
    html! {
        @for (index, line) in text.lines().enumerate() {
            @if index > 0 { br; }
            (line)
        }
    }
}
