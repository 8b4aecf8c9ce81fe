//! `inktell dossier begin`: the particulars of the sheet.

use super::signing::Signing;
use crate::cli::{Outcome, output};
use inktell::dossier::disk::RealDisk;
use inktell::dossier::papersize;
use inktell::dossier::particulars::Particulars;
use inktell::dossier::store::Store;
use inktell::dossier::{account, export, work};
use std::path::PathBuf;

const EXAMPLES: &str = "\
Example:
  inktell dossier begin heron --title \"The Heron\" --sheet 495x305 --plate-mark 470x300 \\
      --inscription \"lower left: drawn and engraved by B. Nemo\" --format \"royal folio\" \\
      --paper \"wove, watermark cut off\" --condition \"two short tears, no repairs\"

Field names follow ICOM's Object ID, CDWA and DCRMR; processes and supports get the
number of their term in the Getty AAT where one was checked. Sizes are height x width
in millimetres. What you leave out can be added later: inktell dossier amend --set.

Exit codes:
  0  done; the dossier is begun
  2  trouble: an argument is wrong, the folder holds files already, a file cannot be
     read or written";

#[derive(Debug, clap::Args)]
#[command(after_help = EXAMPLES)]
pub struct Options {
    /// Folder of the new dossier
    folder: PathBuf,
    /// Title as inscribed; in [brackets] where the sheet has none
    #[arg(long)]
    title: String,
    /// Number by which you know the sheet
    #[arg(long)]
    identifier: Option<String>,
    /// What it is
    #[arg(long, value_name = "TYPE", default_value = "print")]
    type_of_object: String,
    /// Makers as inscribed
    #[arg(long)]
    maker: Option<String>,
    /// Date or period as inscribed or supposed
    #[arg(long, value_name = "DATE")]
    date_or_period: Option<String>,
    /// What is shown
    #[arg(long)]
    subject: Option<String>,
    /// An inscription or mark with its place; give as many as there are
    #[arg(long = "inscription", value_name = "TEXT")]
    inscriptions: Vec<String>,
    /// Process as described so far (stipple-engraving, lithograph, …)
    #[arg(long)]
    process: Option<String>,
    /// What it is printed on
    #[arg(long, default_value = "paper")]
    support: String,
    /// Size of the sheet, mm
    #[arg(long, value_name = "HEIGHTxWIDTH")]
    sheet: Option<String>,
    /// Size of the printed image, mm
    #[arg(long, value_name = "HEIGHTxWIDTH")]
    image: Option<String>,
    /// Size of the plate mark, mm
    #[arg(long, value_name = "HEIGHTxWIDTH")]
    plate_mark: Option<String>,
    /// Wove or laid, chain lines, watermark, colour
    #[arg(long)]
    paper: Option<String>,
    /// Format that the edition is said to have, such as "royal folio"
    #[arg(long)]
    format: Option<String>,
    /// State of the plate or stone
    #[arg(long)]
    state: Option<String>,
    /// Points that tell the edition
    #[arg(long)]
    edition: Option<String>,
    /// What tells this impression from every other
    #[arg(long, value_name = "TEXT")]
    distinguishing_features: Option<String>,
    /// Trimming, tears, foxing, repairs
    #[arg(long)]
    condition: Option<String>,
    /// Owners, sales, stamps, from the earliest
    #[arg(long)]
    provenance: Option<String>,
    #[command(flatten)]
    signing: Signing,
}

pub fn run(options: &Options) -> anyhow::Result<Outcome> {
    let particulars = particulars(options).map_err(anyhow::Error::msg)?;
    let sheet = particulars.sheet;
    let odd = account::odd_sizes(&particulars);
    let hand = options.signing.ready()?;
    let store = Store::new(&options.folder, &RealDisk);
    let receipt = work::begin(&store, &hand.author(), particulars)?;
    super::acknowledge(&receipt, "the beginning", hand.signs())?;
    if let Some(size) = sheet {
        let said = papersize::in_words(&size, options.format.as_deref());
        output::print(&export::text::wrapped(&said, output::terminal_width()))?;
    }
    if let Some(odd) = odd {
        eprintln!("inktell: {odd} (dossier amend 1 --set corrects them)");
    }
    Ok(Outcome::Done)
}

fn particulars(options: &Options) -> Result<Particulars, String> {
    let given = |text: &Option<String>| text.clone().unwrap_or_default();
    let mut all = Particulars::default();
    for (key, text) in [
        ("title", options.title.clone()),
        ("identifier", given(&options.identifier)),
        ("type_of_object", options.type_of_object.clone()),
        ("maker", given(&options.maker)),
        ("date_or_period", given(&options.date_or_period)),
        ("subject", given(&options.subject)),
        ("process", given(&options.process)),
        ("support", options.support.clone()),
        ("sheet", given(&options.sheet)),
        ("image", given(&options.image)),
        ("plate_mark", given(&options.plate_mark)),
        ("paper", given(&options.paper)),
        ("format", given(&options.format)),
        ("state", given(&options.state)),
        ("edition", given(&options.edition)),
        (
            "distinguishing_features",
            given(&options.distinguishing_features),
        ),
        ("condition", given(&options.condition)),
        ("provenance", given(&options.provenance)),
    ] {
        all.set(key, &text)?;
    }
    all.inscriptions_and_markings = options.inscriptions.clone();
    Ok(all)
}
