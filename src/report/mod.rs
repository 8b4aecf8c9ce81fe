//! A reading → words, figures, HTML, JSON, terminal.
