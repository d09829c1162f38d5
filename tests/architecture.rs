//! The house rules that a compiler does not keep: which module may see which, a word at the head
//! of every file, no file too long, nothing strewn about at the top.

use std::fs;
use std::path::{Path, PathBuf};

/// A module and the modules of this crate that it may name.
const MAY_SEE: &[(&str, &[&str])] = &[
    ("optics", &[]),
    ("files", &[]),
    ("plan", &["optics", "files"]),
    ("layers", &["optics"]),
    ("stage", &["plan", "optics", "layers"]),
    ("gpu", &["stage", "optics"]),
    ("trace", &["stage", "optics", "layers", "gpu"]),
    ("raster", &["stage", "optics", "layers", "gpu"]),
    ("export", &["stage", "optics", "layers", "files"]),
    ("picture", &["layers", "optics", "gpu"]),
    ("settle", &["stage", "optics", "layers", "gpu", "trace", "raster", "picture"]),
    ("meter", &["plan", "stage", "optics", "layers", "trace", "raster"]),
    ("study", &["plan", "stage", "optics", "layers", "picture", "meter"]),
    ("papers", &["plan", "stage", "optics", "layers", "picture", "meter"]),
    (
        "shoot",
        &[
            "plan", "stage", "optics", "layers", "gpu", "trace", "raster", "export", "picture",
            "meter", "settle", "study", "papers", "files",
        ],
    ),
    ("cli", &["plan", "shoot", "window", "files"]),
    (
        "window",
        &[
            "plan", "stage", "optics", "layers", "gpu", "trace", "raster", "export", "picture",
            "meter", "settle", "study", "papers", "shoot", "files",
        ],
    ),
];

/// What may lie at the top, besides files that begin with a dot.
const TOP: &[&str] = &[
    "Cargo.toml",
    "Cargo.lock",
    "README.md",
    "DEVELOPERS.md",
    "LICENSE",
    "src",
    "shaders",
    "scenes",
    "tests",
    "target",
    "out",
    // what the README's first command leaves; git ignores it
    "lamplighter.png",
];

const LONGEST: usize = 800;

fn root() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
}

/// Every Rust file below `folder`.
fn rust_files(folder: &Path) -> Vec<PathBuf> {
    let mut files = Vec::new();
    let mut folders = vec![folder.to_owned()];
    while let Some(folder) = folders.pop() {
        for entry in fs::read_dir(&folder).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                folders.push(path);
            } else if path.extension().is_some_and(|ending| ending == "rs") {
                files.push(path);
            }
        }
    }
    files
}

fn fail_with(faults: Vec<String>) {
    assert!(faults.is_empty(), "\n{}\n", faults.join("\n"));
}

/// Modules of this crate that a line of code names after `crate::`, also in `use crate::{a, b}`.
fn named(line: &str) -> Vec<&str> {
    let mut names = Vec::new();
    for (at, _) in line.match_indices("crate::") {
        let rest = &line[at + "crate::".len()..];
        let list = match rest.strip_prefix('{') {
            Some(list) => list.split('}').next().unwrap_or(list).split(',').collect(),
            None => vec![rest],
        };
        for item in list {
            let item = item.trim();
            let end = item.find(|c: char| !(c.is_alphanumeric() || c == '_')).unwrap_or(item.len());
            names.push(&item[..end]);
        }
    }
    names
}

#[test]
fn modules_are_found_in_lines() {
    assert_eq!(named("use crate::plan::{a, b};"), ["plan"]);
    assert_eq!(named("use crate::{plan::read, stage};"), ["plan", "stage"]);
    assert_eq!(named("let x = crate::optics::f(crate::layers::G);"), ["optics", "layers"]);
    assert!(named("use std::fs;").is_empty());
}

#[test]
fn dependencies_point_one_way() {
    let source = root().join("src");
    let mut faults = Vec::new();
    for file in rust_files(&source) {
        let within = file.strip_prefix(&source).unwrap();
        let module = within.iter().next().unwrap().to_str().unwrap().trim_end_matches(".rs");
        if matches!(module, "main" | "lib") {
            continue;
        }
        let Some((_, allowed)) = MAY_SEE.iter().find(|(name, _)| *name == module) else {
            faults.push(format!("{}: no rule for module `{module}`", within.display()));
            continue;
        };
        let text = fs::read_to_string(&file).unwrap();
        for (number, line) in text.lines().enumerate() {
            // words in comments bind nothing
            let code = line.split("//").next().unwrap_or_default();
            for name in named(code) {
                let known = MAY_SEE.iter().any(|(module, _)| *module == name);
                if known && name != module && !allowed.contains(&name) {
                    let place = format!("{}:{}", within.display(), number + 1);
                    faults.push(format!("{place}: `{module}` may not see `{name}`"));
                }
            }
        }
    }
    fail_with(faults);
}

#[test]
fn every_file_opens_with_its_purpose_and_is_short_enough() {
    let mut faults = Vec::new();
    for folder in ["src", "tests"] {
        for file in rust_files(&root().join(folder)) {
            let text = fs::read_to_string(&file).unwrap();
            if !text.starts_with("//! ") {
                faults.push(format!("{}: does not open with `//!`", file.display()));
            }
            let lines = text.lines().count();
            if lines > LONGEST {
                faults.push(format!("{}: {lines} lines, at most {LONGEST}", file.display()));
            }
        }
    }
    fail_with(faults);
}

#[test]
fn the_top_level_is_tidy() {
    let mut faults = Vec::new();
    for entry in fs::read_dir(root()).unwrap() {
        let name = entry.unwrap().file_name().into_string().unwrap();
        if !name.starts_with('.') && !TOP.contains(&name.as_str()) {
            faults.push(format!("{name} does not belong at the top level"));
        }
    }
    fail_with(faults);
}
