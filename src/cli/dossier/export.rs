//! `inktell dossier export`: a dossier in other forms.

use super::target::{self, Form, Target};
use crate::cli::{Outcome, moment, output};
use anyhow::{Context, bail};
use clap::ValueEnum;
use inktell::dossier::account::{self, Account, Telling};
use inktell::dossier::contents::Contents;
use inktell::dossier::export::bag::{self, Packed, Packing, Stray};
use inktell::dossier::export::pdf::{self, Paper};
use inktell::dossier::export::{html, linked_art};
use inktell::dossier::left_out::{self, WithCopies};
use inktell::dossier::line::Log;
use inktell::dossier::{privacy, verify};
use jiff::Timestamp;
use std::path::{Path, PathBuf};

const EXAMPLES: &str = "\
Examples:
  inktell dossier export heron --pdf heron.pdf --paper letter
  inktell dossier export heron --bag heron.zip --without-location
  inktell dossier export heron --html heron.html --linked-art heron.jsonld

Every export carries the hash of the last entry and the signers, and says whether the
dossier holds: it is verified on the way. The bag (BagIt, RFC 8493) holds the whole
dossier and can be verified itself: inktell dossier verify heron.zip. A file that is there
already is replaced only where it is an earlier export of a dossier in the same form.

Exit codes:
  0  done; the dossier holds
  1  done, but something in the dossier does not hold; the exports say so
  2  trouble: an argument is wrong, a file cannot be read or written";

#[derive(Clone, Copy, Debug, ValueEnum)]
enum PaperKey {
    /// 210 × 297 mm
    A4,
    /// 8½ × 11 inches
    Letter,
}

#[derive(Debug, clap::Args)]
#[command(after_help = EXAMPLES)]
pub struct Options {
    /// Folder or ZIP file of the dossier
    dossier: PathBuf,
    /// Write a PDF (PDF/A-2b)
    #[arg(long, value_name = "FILE")]
    pdf: Option<PathBuf>,
    /// Paper of the PDF
    #[arg(long, value_enum, default_value = "a4")]
    paper: PaperKey,
    /// Write an HTML page that needs no other file
    #[arg(long, value_name = "FILE")]
    html: Option<PathBuf>,
    /// Write Linked Art JSON-LD for a museum's system
    #[arg(long, value_name = "FILE")]
    linked_art: Option<PathBuf>,
    /// Write a ZIP file with a manifest (BagIt) that holds the dossier and the other exports
    #[arg(long, value_name = "FILE")]
    bag: Option<PathBuf>,
    /// Leave out the places where photographs were taken; the export says so
    #[arg(long)]
    without_location: bool,
    /// Do not measure the photographs again for the verification in the export
    #[arg(long)]
    no_measure: bool,
    /// Moment printed in the export instead of now, such as 2026-01-02T10:00:00Z
    #[arg(long, value_name = "MOMENT", value_parser = moment::parse)]
    time: Option<Timestamp>,
}

impl Options {
    /// Files to be written.
    fn targets(&self) -> Vec<Target<'_>> {
        let named = [
            (&self.pdf, Form::Pdf),
            (&self.html, Form::Page),
            (&self.linked_art, Form::LinkedArt),
            (&self.bag, Form::Bag),
        ];
        named
            .into_iter()
            .filter_map(|(file, form)| {
                let file = file.as_deref()?;
                Some(Target { file, form })
            })
            .collect()
    }
}

/// Everything that the exports are made of.
struct Source<'a> {
    contents: &'a dyn Contents,
    /// The same with copies in place of photographs that an earlier export left out.
    shown: &'a dyn Contents,
    log: &'a Log,
    account: &'a Account,
    made: Timestamp,
    paper: Paper,
}

pub fn run(options: &Options) -> anyhow::Result<Outcome> {
    if options.targets().is_empty() {
        bail!("say what to write: --pdf FILE, --html FILE, --linked-art FILE or --bag FILE");
    }
    target::check(&options.dossier, &options.targets())?;
    let contents = super::open(&options.dossier)?;
    let contents = contents.as_ref();
    let log = super::log(contents, &options.dossier)?;
    let asked = verify::Asked {
        measure: !options.no_measure,
        ..verify::Asked::default()
    };
    let verdict = verify::verify(contents, &asked);
    let made = options.time.unwrap_or_else(Timestamp::now);
    let account = account::account(&Telling {
        contents,
        log: &log,
        verdict: &verdict,
        made: &moment::in_words(Some(made)),
        tell_places: !options.without_location,
    });
    let source = Source {
        contents,
        shown: &WithCopies::over(contents, &log),
        log: &log,
        account: &account,
        made,
        paper: match options.paper {
            PaperKey::A4 => Paper::A4,
            PaperKey::Letter => Paper::Letter,
        },
    };
    write_all(options, &source)?;
    say_places(options, &source);
    if let Some(shortfall) = account.shortfall {
        eprintln!(
            "inktell: this dossier {}, and the export says so; see: inktell dossier verify",
            shortfall.in_words()
        );
    }
    Ok(Outcome::held(verdict.holds()))
}

fn write_all(options: &Options, source: &Source<'_>) -> anyhow::Result<()> {
    if let Some(file) = &options.pdf {
        write(file, &source.pdf()?)?;
    }
    if let Some(file) = &options.html {
        write(file, html::page(source.account, source.shown).as_bytes())?;
    }
    if let Some(file) = &options.linked_art {
        write(file, source.linked_art()?.as_bytes())?;
    }
    if let Some(file) = &options.bag {
        let packed = source.bag(file, options)?;
        say_passed_over(&packed.passed_over);
        write(file, &packed.bytes)?;
    }
    Ok(())
}

impl Source<'_> {
    fn pdf(&self) -> anyhow::Result<Vec<u8>> {
        Ok(pdf::file(self.account, self.shown, self.paper, self.made)?)
    }

    fn linked_art(&self) -> anyhow::Result<String> {
        Ok(linked_art::text(self.log, self.account)?)
    }

    fn bag(&self, file: &Path, options: &Options) -> anyhow::Result<Packed> {
        let exports = [
            ("dossier.pdf".to_owned(), self.pdf()?),
            (
                "dossier.html".to_owned(),
                html::page(self.account, self.shown).into_bytes(),
            ),
            ("dossier.jsonld".to_owned(), self.linked_art()?.into_bytes()),
        ];
        let stem = file.file_stem().unwrap_or_default().to_string_lossy();
        let packing = Packing {
            name: if stem.is_empty() { "dossier" } else { &stem },
            title: &self.account.title,
            made: self.made,
            shortfall: self.account.shortfall,
            exports: &exports,
            without_location: options.without_location,
        };
        bag::file(self.contents, self.log, &packing).with_context(|| {
            format!(
                "{}: no bag was made (inktell dossier verify tells what is wrong), because a file of the dossier cannot be read",
                options.dossier.display()
            )
        })
    }
}

fn write(file: &Path, bytes: &[u8]) -> anyhow::Result<()> {
    output::write_bytes(file, bytes)?;
    output::print(&format!("{}\n", file.display()))
}

fn say_passed_over(strays: &[Stray]) {
    for Stray { path, why } in strays {
        eprintln!(
            "inktell: {path} lies in the dossier's folder and cannot be read ({why}); no entry names it, so the bag goes without it"
        );
    }
}

fn say_places(options: &Options, source: &Source<'_>) {
    let located = privacy::located(source.contents, source.log);
    if options.without_location {
        for (photograph, _) in located.iter().filter(|_| options.bag.is_some()) {
            let bytes = source.contents.read(&photograph.path).unwrap_or_default();
            if left_out::copy_of(source.log, photograph, &bytes).is_none() {
                eprintln!(
                    "inktell: {} holds the place where it was taken, and no copy without it can be made (of JPEG, PNG, WebP and TIFF files it can, unless they are damaged where places are kept, or the log names a copy as another version of the program made it), so the bag holds neither; what rests on it cannot be measured again from the bag",
                    photograph.name
                );
            }
        }
    } else if !located.is_empty() {
        eprintln!(
            "inktell: {} with the place where it was taken; --without-location leaves it out",
            inktell::report::words::counted(located.len(), "photograph")
        );
    }
}
