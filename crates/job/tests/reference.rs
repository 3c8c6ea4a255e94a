//! The reference of all keys against what is read, and the schema against an independent checker of schemas.

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

use sumpwright_job::{FileKind, Key, keys, schema, starter};

const KINDS: [FileKind; 3] = [FileKind::Pan, FileKind::Experiment, FileKind::Study];

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../..")
}

fn all() -> Vec<Key> {
    KINDS.into_iter().flat_map(keys).collect()
}

#[test]
fn every_key_that_is_read_has_its_words_and_none_has_words_that_is_not() {
    let read: BTreeSet<String> = all().into_iter().map(|key| key.path).collect();
    let text = include_str!("../src/reference/words.txt");
    let told: BTreeSet<String> = (text.lines().filter(|l| !l.starts_with('#')))
        .map(|line| line.split_once(": ").expect(line).0.to_owned())
        .collect();
    let untold: Vec<_> = read.difference(&told).collect();
    let unread: Vec<_> = told.difference(&read).collect();
    assert!(
        untold.is_empty(),
        "add to src/reference/words.txt, as `path: meaning | how much it matters`: {untold:#?}"
    );
    assert!(
        unread.is_empty(),
        "nothing reads these: take them out of src/reference/words.txt, or let a page or a file of src/reference state \
         them: {unread:#?}"
    );
    for key in all() {
        assert!(!key.meaning.is_empty() && !key.matters.is_empty(), "{}", key.path);
        assert!(
            !key.shapes.is_empty(),
            "no page or file of src/reference states {}",
            key.path
        );
    }
}

/// A key that a reader asks for stands in the source as a text in quotes: none may be missing from the reference.
#[test]
fn no_key_in_the_source_is_missing_from_the_reference() {
    let known: BTreeSet<String> = all()
        .iter()
        .map(|key| key.path.rsplit('.').next().unwrap().to_owned())
        .collect();
    let mut missing = BTreeSet::new();
    let folder = root().join("crates/job/src");
    for entry in std::fs::read_dir(folder.join("sections")).unwrap() {
        let text = std::fs::read_to_string(entry.unwrap().path()).unwrap();
        for call in [
            "quantity",
            "quantity_or",
            "optional_quantity",
            "text",
            "point2",
            "point3",
            "truth_or",
            "tuple",
            "rows",
            "choice",
            "below",
            "parts",
            "several",
            "number",
        ] {
            for part in text.split(&format!(".{call}(")).skip(1) {
                let Some(rest) = part.trim_start().strip_prefix('"') else {
                    continue;
                };
                let key = rest.split('"').next().unwrap();
                if !known.contains(key) {
                    missing.insert(key.to_owned());
                }
            }
        }
    }
    assert!(
        missing.is_empty(),
        "let a page or a file of src/reference state {missing:?}"
    );
}

fn page(kind: FileKind) -> PathBuf {
    root().join(match kind {
        FileKind::Pan => "docs/pan.schema.json",
        FileKind::Experiment => "docs/experiment.schema.json",
        FileKind::Study => "docs/study.schema.json",
    })
}

#[test]
fn the_schemas_in_docs_are_fresh() {
    for kind in KINDS {
        let path = page(kind);
        let kept = std::fs::read_to_string(&path).unwrap_or_default();
        assert!(
            kept == schema(kind),
            "{} is stale: write it anew with `sumpwright explain --schema{}`",
            path.display(),
            match kind {
                FileKind::Pan => "",
                FileKind::Experiment => "=experiment",
                FileKind::Study => "=study",
            }
        );
    }
}

fn as_json(text: &str) -> serde_json::Value {
    let table: toml::Table = text.parse().expect("sound TOML");
    serde_json::to_value(table).unwrap()
}

fn checker(kind: FileKind) -> jsonschema::Validator {
    let schema: serde_json::Value = serde_json::from_str(&schema(kind)).unwrap();
    jsonschema::draft4::new(&schema).expect("a schema of draft 4")
}

/// Every file that the program ships passes; the checker is the crate `jsonschema`.
#[test]
fn our_own_files_pass_the_schema() {
    let mut files: Vec<PathBuf> = Vec::new();
    for folder in ["examples/box", "examples/heath-lane", "examples/experiments"] {
        let entries = std::fs::read_dir(root().join(folder)).unwrap();
        files.extend(
            entries
                .map(|e| e.unwrap().path())
                .filter(|p| p.extension().is_some_and(|e| e == "toml")),
        );
    }
    let mut texts: Vec<(String, String)> = files
        .iter()
        .map(|path| (path.display().to_string(), std::fs::read_to_string(path).unwrap()))
        .collect();
    texts.push(("the starter".into(), starter()[0].text.into()));
    assert!(texts.len() > 10, "{}", texts.len());
    // A checker takes seconds to build: one a kind, not one a file.
    let checkers = KINDS.map(checker);
    for (name, text) in texts {
        let json = as_json(&text);
        let kind = match json.get("kind").and_then(|kind| kind.as_str()) {
            Some("experiment") => FileKind::Experiment,
            Some("study") => FileKind::Study,
            _ => FileKind::Pan,
        };
        let place = KINDS.iter().position(|k| *k == kind).expect("one of the kinds");
        let checker = &checkers[place];
        let faults: Vec<String> = checker
            .iter_errors(&json)
            .map(|fault| format!("{}: {fault}", fault.instance_path()))
            .collect();
        assert!(faults.is_empty(), "{name}: {faults:#?}");
    }
}

#[test]
fn slips_do_not_pass_the_schema() {
    let head = "format = \"2026-11\"\nname = \"slip\"\n";
    let checker = checker(FileKind::Pan);
    for slip in [
        "[fill]\nvolume = 5\n",
        "[fill]\nvolumn = \"5 L\"\n",
        "[installation]\norientation = \"sideways\"\n",
        "[pickup]\nmouth = [\"0 mm\", \"0 mm\"]\n",
        "[[pocket]]\nname = 3\n",
        "[drive]\ncourse_bridge = \"yes\"\n",
        "[pump]\ndisplacement = \"twelve\"\n",
    ] {
        assert!(!checker.is_valid(&as_json(&format!("{head}{slip}"))), "{slip}");
    }
    assert!(checker.is_valid(&as_json(&format!("{head}[fill]\nvolume = \"5 L\"\n"))));
}
