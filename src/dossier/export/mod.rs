//! Ways of showing and handing on a dossier.
//!
//! - [`text`](mod@text): plain text for a terminal. [`figure`]: photographs at print resolution.
//! - [`html`]: a page that needs nothing else. [`pdf`]: the file drawer's and the buyer's copy.
//! - [`linked_art`]: JSON-LD for a museum's system. [`bag`]: a ZIP file with a manifest (BagIt).

pub mod bag;
pub mod figure;
pub mod html;
pub mod linked_art;
pub mod pdf;
pub mod text;
