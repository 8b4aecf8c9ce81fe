use super::patterns::{self, Match};
use super::*;
use crate::dossier::keys::Signer;

const NOON: &str = "2026-01-02T12:00:00Z";

fn made(at: &str) -> Made<'_> {
    Made {
        by: "A. Bidder",
        at: at.parse().ok(),
        after: None,
    }
}

/// A key, and what lists in which it stands for KEY say of it.
struct Known(String);

impl Known {
    fn new() -> Self {
        Self(Signer::passing("one").unwrap().public().unwrap())
    }

    fn list(&self, list: &str) -> KnownSigners {
        KnownSigners::parse(&list.replace("KEY", &self.0), &TimeZone::UTC)
    }

    fn said(&self, list: &str, made: Made<'_>) -> String {
        match self.list(list).standing(&self.0, made) {
            Standing::Known(name) => name.to_owned(),
            Standing::Refused(why) => why,
            Standing::Unlisted => "unlisted".into(),
        }
    }

    fn passed_over(&self, list: &str) -> Vec<(usize, String)> {
        let list = self.list(list);
        let all = list.passed_over().iter();
        all.map(|line| (line.line, line.why.clone())).collect()
    }
}

#[test]
fn lists_are_read_as_openssh_writes_them() {
    let key = Known::new();
    for (list, name) in [
        ("bidder KEY", "bidder"),
        (
            "# keys\n\n\t\"A. Bidder\"  namespaces=\"inktell-*\"\tKEY a comment\r\n",
            "A. Bidder",
        ),
        (
            "a@b.example,*@c.example NameSpaces=\"x,ink*\" KEY",
            "a@b.example,*@c.example",
        ),
    ] {
        assert_eq!(key.said(list, made(NOON)), name, "{list}");
        assert_eq!(key.passed_over(list), [], "{list}");
    }
    let other = Signer::passing("x").unwrap().public().unwrap();
    let list = key.list("bidder KEY");
    assert_eq!(list.standing(&other, made(NOON)), Standing::Unlisted);
    assert!(key.list("# nothing\n").is_empty());
}

#[test]
fn a_line_that_cannot_be_read_is_named_and_vouches_for_nobody() {
    let key = Known::new();
    for (line, why) in [
        ("KEY", "no name and key"),
        ("bidder", "no name and key"),
        ("\"A. Bidder\"", "no name and key"),
        ("\"A. Bidder KEY", "is not closed"),
        ("A. Bidder KEY", "\"Bidder\" is no option that can be read"),
        ("namespaces=\"file\" KEY", "quotation mark and is no name"),
        ("bidder odd KEY", "\"odd\" is no option"),
        ("bidder cert-authority=\"x\" KEY", "is no option"),
        (
            "bidder namespaces=file KEY",
            "does not stand in quotation marks",
        ),
        ("bidder namespaces=\"file KEY", "is not closed"),
        (
            "bidder namespaces=\"a\"b KEY",
            "what follows namespaces is no comma",
        ),
        (
            "bidder namespaces=\"a\",namespaces=\"b\" KEY",
            "gives namespaces twice",
        ),
        ("bidder namespaces=\"*\", KEY", "end in a comma"),
        ("bidder valid-after=\"2026\" KEY", "\"2026\" is no time"),
        ("bidder valid-after=\"20260230\" KEY", "is no time"),
        ("bidder valid-after=\"2026+131\" KEY", "is no time"),
        (
            "bidder valid-before=\"20260101Z\",valid-after=\"20260101Z\" KEY",
            "not later than",
        ),
        ("bidder ssh-ed25519 AAAA", "cannot be read"),
        ("bidder ssh-ed25519", "cannot be read"),
        ("bidder ssh-rsa AAAA", "of kind ssh-rsa"),
        ("bidder namespaces=\"*\" AAAA", "no name and key"),
        ("!bidder KEY", "lets none in"),
    ] {
        let list = format!("# keys\n{line}\n");
        let passed_over = key.passed_over(&list);
        assert_eq!(passed_over.len(), 1, "{line}");
        assert_eq!(passed_over[0].0, 2);
        assert!(
            passed_over[0].1.contains(why),
            "{line}: {}",
            passed_over[0].1
        );
        assert!(key.list(&list).is_empty(), "{line}");
        // The lines around it count.
        assert_eq!(key.said(&format!("{list}bidder KEY"), made(NOON)), "bidder");
    }
}

#[test]
fn a_certificate_authority_vouches_for_no_plain_key() {
    let key = Known::new();
    let list = "bidder Cert-Authority KEY";
    assert!(
        key.said(list, made(NOON))
            .starts_with("line 1 marks it as a certificate authority")
    );
    let passed_over = key.passed_over(list);
    assert_eq!(passed_over[0].0, 1);
    assert!(passed_over[0].1.contains("certificates are not checked"));
    assert_eq!(
        key.said("ca cert-authority KEY\nbidder KEY", made(NOON)),
        "bidder"
    );
}

#[test]
fn a_key_counts_for_the_namespaces_that_its_line_lets_in() {
    let key = Known::new();
    for (namespaces, counts) in [
        ("inktell-dossier", true),
        ("file,inktell-?ossier", true),
        ("*", true),
        ("*,!inktell-x", true),
        ("file", false),
        ("", false),
        ("inktell", false),
        ("Inktell-Dossier", false),
        ("*,!inktell-*", false),
        ("!file", false),
    ] {
        let said = key.said(
            &format!("bidder namespaces=\"{namespaces}\" KEY"),
            made(NOON),
        );
        let why =
            format!("line 1 accepts it for other kinds of signatures (namespaces=\"{namespaces}\"");
        assert_eq!(said == "bidder", counts, "{namespaces}: {said}");
        assert_eq!(said.starts_with(&why), !counts, "{namespaces}: {said}");
    }
}

#[test]
fn a_key_counts_within_its_time_by_the_time_that_the_entry_gives() {
    let key = Known::new();
    for (options, counts) in [
        ("valid-after=\"20260102\"", true),
        ("valid-after=\"202601021200Z\"", true),
        ("valid-after=\"20260102120001Z\"", false),
        ("valid-before=\"20260102120000z\"", true),
        ("valid-before=\"202601021159\"", false),
        ("valid-after=\"20260101\",valid-before=\"20260103\"", true),
        ("valid-after=\"20260103\",valid-before=\"20260104\"", false),
    ] {
        let said = key.said(&format!("bidder {options} KEY"), made(NOON));
        assert_eq!(said == "bidder", counts, "{options}: {said}");
    }
    // One line that accepts it will do, and where none does each says why.
    let early = "bidder valid-before=\"20251231Z\" KEY\n";
    let both = format!("{early}later valid-after=\"20260102Z\" KEY");
    assert_eq!(key.said(&both, made(NOON)), "later");
    assert_eq!(
        key.said(&both, made("2026-01-01T00:00:00Z")),
        "line 1 accepts it up to 2025-12-31T00:00:00Z; line 2 accepts it from 2026-01-02T00:00:00Z on"
    );
    assert!(
        key.said(early, made("last week"))
            .contains("cannot be read")
    );
    assert_eq!(key.said("bidder KEY", made("last week")), "bidder");
    // An entry is no older than those it stands on, whatever its author's clock says.
    let dated_back = Made {
        after: NOON.parse().ok(),
        ..made("2025-12-01T00:00:00Z")
    };
    let said = key.said(early, dated_back);
    assert!(
        said.contains("a known signer dated what stands before it later"),
        "{said}"
    );
}

#[test]
fn times_without_a_z_are_those_of_the_readers_clock() {
    let key = Known::new();
    let list = "bidder valid-after=\"202601021300\" KEY".replace("KEY", &key.0);
    let east = TimeZone::fixed(jiff::tz::offset(1));
    let known = |zone: &TimeZone| {
        let list = KnownSigners::parse(&list, zone);
        list.standing(&key.0, made(NOON)) == Standing::Known("bidder")
    };
    assert!(known(&east) && !known(&TimeZone::UTC));
}

#[test]
fn an_author_by_a_name_that_is_shut_out_is_refused() {
    let key = Known::new();
    assert_eq!(key.said("!C.*,* KEY", made(NOON)), "!C.*,*");
    let said = key.said("\"*,!A. Bidd?r\" KEY", made(NOON));
    assert!(
        said.contains("line 1 shuts out the name A. Bidder"),
        "{said}"
    );
}

#[test]
fn patterns_match_as_openssh_has_them() {
    for (text, list, found) in [
        ("abc", "a*c", Match::Yes),
        ("abc", "*b*", Match::Yes),
        ("abc", "a?c,x", Match::Yes),
        ("abc", "a?", Match::No),
        ("abc", "**", Match::Yes),
        ("aab", "a*ab", Match::Yes),
        ("", "*", Match::Yes),
        ("", "", Match::Yes),
        ("", "?", Match::No),
        ("abc", "*,!a*", Match::ShutOut),
        ("abc", "!b*,*", Match::Yes),
    ] {
        assert_eq!(patterns::of(text, list), found, "{text} {list}");
    }
    let long = "a".repeat(2_000);
    assert_eq!(patterns::of(&long, &"*a".repeat(400)), Match::Yes);
    assert_eq!(
        patterns::of(&long, &format!("{}b", "*a".repeat(400))),
        Match::No
    );
}
