//! Data flows one way: reads the imports of every source file and fails where one points downstream.

use std::path::{Path, PathBuf};

/// What every module may import: types and tools that travel everywhere.
const FOR_ALL: &[&str] = &["plane", "rank", "measured", "whole_file"];
/// What each module may import from the crate besides itself and those.
const MAY_IMPORT: &[(&str, &[&str])] = &[
    ("plane", &[]),
    ("rank", &[]),
    ("measured", &[]),
    ("whole_file", &[]),
    ("photo", &[]),
    ("ink", &["photo"]),
    ("measure", &["ink", "photo"]),
    ("weigh", &["measure", "ink", "photo"]),
    ("report", &["weigh", "measure", "ink", "photo", "examine"]),
    // The forward model shares the names of inks, and no code that measures.
    ("specimen", &["ink"]),
    ("examine", &["weigh", "measure", "ink", "photo"]),
    (
        "lot",
        &[
            "examine", "report", "weigh", "measure", "ink", "photo", "specimen",
        ],
    ),
    (
        "dossier",
        &["report", "examine", "weigh", "measure", "ink", "photo"],
    ),
    (
        "trial",
        &["examine", "weigh", "measure", "ink", "photo", "specimen"],
    ),
];

fn rust_files(folder: &Path) -> Vec<PathBuf> {
    std::fs::read_dir(folder)
        .unwrap()
        .flat_map(|entry| {
            let path = entry.unwrap().path();
            if path.is_dir() {
                rust_files(&path)
            } else {
                vec![path]
            }
        })
        .filter(|path| path.extension().is_some_and(|e| e == "rs"))
        .collect()
}

/// Modules named after `crate::` in the code of a file, the module of its tests aside: a test may draw with
/// anything. One in a file of its own does not end the code.
fn imports(text: &str) -> Vec<String> {
    let code = text
        .split("#[cfg(test)]\nmod tests {")
        .next()
        .unwrap_or_default();
    let lines = code
        .lines()
        .filter(|line| !line.trim_start().starts_with("//"));
    let code = lines.collect::<Vec<_>>().join("\n");
    code.split("crate::")
        .skip(1)
        .flat_map(first_names)
        .collect()
}

/// The module that a path begins with, or all that a group of paths begin with.
fn first_names(path: &str) -> Vec<String> {
    let name = |text: &str| -> String {
        let letters = text.trim_start().chars();
        letters
            .take_while(|c| c.is_alphanumeric() || *c == '_')
            .collect()
    };
    let Some(group) = path.strip_prefix('{') else {
        return vec![name(path)];
    };
    let (mut names, mut depth) = (vec![name(group)], 1);
    for (place, letter) in group.char_indices() {
        match letter {
            '{' => depth += 1,
            '}' => depth -= 1,
            ',' if depth == 1 => names.push(name(&group[place + 1..])),
            _ => {}
        }
        if depth == 0 {
            break;
        }
    }
    names.retain(|name| !name.is_empty());
    names
}

#[test]
fn groups_and_paths_are_read() {
    let code = "use crate::plane::{Mask, Rgb};\nuse crate::{ink::{self, Ink}, report, weigh::Reading,};\n\
        #[cfg(test)]\nmod tests;\nfn f() { crate::lot::run() }\n#[cfg(test)]\nmod tests {\nuse crate::dossier;\n}";
    assert_eq!(imports(code), ["plane", "ink", "report", "weigh", "lot"]);
}

#[test]
fn no_module_imports_from_downstream() {
    let source = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let mut seen = 0;
    let mut wrong = Vec::new();
    for file in rust_files(&source) {
        let inside = file.strip_prefix(&source).unwrap();
        let first = inside.iter().next().unwrap().to_string_lossy();
        let module = first.trim_end_matches(".rs").to_owned();
        let Some((_, allowed)) = MAY_IMPORT.iter().find(|(name, _)| *name == module) else {
            assert!(
                ["lib", "main", "cli", "build"].contains(&module.as_str()),
                "{module}: a new module; say in this test what it may import"
            );
            continue;
        };
        for import in imports(&std::fs::read_to_string(&file).unwrap()) {
            seen += 1;
            let fine = import == module
                || FOR_ALL.contains(&import.as_str())
                || allowed.contains(&import.as_str());
            if !fine {
                wrong.push(format!("{} imports crate::{import}", inside.display()));
            }
        }
    }
    assert!(
        seen > 50,
        "only {seen} imports found: the test reads them wrongly"
    );
    assert!(
        wrong.is_empty(),
        "imports that point downstream:\n{}",
        wrong.join("\n")
    );
}
