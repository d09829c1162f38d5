//! From a file to a plan.
//!
//! In: a path, of a plan or of a still that carries one, or a RON text. Out: a [`Plan`] whose every value is within its range, or a
//! [`PlanError`] that says where and how to put it right.

use std::fs::File;
use std::io::Read;
use std::ops::Range;
use std::path::Path;

use ron::extensions::Extensions;

use super::error::{Fault, LocatedFault, PlanError};
use super::locate::Index;
use super::{Folder, Plan, check, diagnose, still};

/// The language this program writes; it reads all earlier ones.
pub const FORMAT: u32 = 1;
/// No plan written by hand comes near this; it bounds what a slip can make us read, in bytes.
const LARGEST: u64 = 1024 * 1024;
/// Brackets within brackets; a plan needs about 8.
const DEEPEST: usize = 64;

/// RON as plans use it: `Some(…)` and the inner brackets of `Reflector((…))` are left out.
pub(super) fn language() -> ron::Options {
    ron::Options::default()
        .with_default_extension(Extensions::IMPLICIT_SOME | Extensions::UNWRAP_VARIANT_NEWTYPES)
        .with_recursion_limit(DEEPEST)
}

/// Reads and checks the plan in a file, or in a still that carries it.
pub fn read(path: impl AsRef<Path>) -> Result<Plan, PlanError> {
    let path = path.as_ref();
    let name = path.display().to_string();
    read_as(path, &name, parse)
}

/// The same of a plan under work, which may have no light yet.
pub fn read_draft(path: impl AsRef<Path>) -> Result<Plan, PlanError> {
    let path = path.as_ref();
    read_as(path, &path.display().to_string(), parse_draft)
}

fn read_as(
    path: &Path,
    name: &str,
    parse: fn(&str, &str) -> Result<Plan, PlanError>,
) -> Result<Plan, PlanError> {
    let mut plan = parse(&text(path, name)?, name)?;
    plan.folder = Folder(path.parent().map(Path::to_owned).unwrap_or_default());
    Ok(plan)
}

fn text(path: &Path, name: &str) -> Result<String, PlanError> {
    let file_error = |problem: String, remedy: &str| {
        Err(PlanError::File { name: name.into(), problem, remedy: remedy.into() })
    };
    let io_error = |source| PlanError::Read { name: name.into(), source };
    // asked before opening: opening a pipe would wait for its other end
    let kind = path.metadata().map_err(io_error)?;
    if kind.is_dir() {
        return file_error("this is a folder, not a plan".into(), "name the plan file in it");
    }
    if !kind.is_file() {
        return file_error("this is not a regular file".into(), "name a plan file (.ron)");
    }
    match still::text(path).map_err(io_error)? {
        Some(Ok(text)) => return Ok(text),
        Some(Err(no_plan)) => return file_error(no_plan.problem, no_plan.remedy),
        None => {}
    }
    let too_large = |size: u64| {
        file_error(
            format!("the file has {:.0} MB, a plan at most 1 MB", size as f64 / LARGEST as f64),
            "name a plan file (.ron); is this a picture?",
        )
    };
    if kind.len() > LARGEST {
        return too_large(kind.len());
    }
    let mut bytes = Vec::new();
    // a file may grow after it was asked for its size
    let read = File::open(path)
        .and_then(|file| file.take(LARGEST + 1).read_to_end(&mut bytes))
        .map_err(io_error)? as u64;
    if read > LARGEST {
        return too_large(read);
    }
    String::from_utf8(bytes).or_else(|error| {
        let at = error.utf8_error().valid_up_to();
        let line = error.as_bytes()[..at].iter().filter(|b| **b == b'\n').count() + 1;
        file_error(
            format!("line {line} is not text (no UTF-8 at byte {at})"),
            "name a plan file (.ron) saved as UTF-8",
        )
    })
}

/// Reads and checks the plan in `text`; `name` stands for the file in messages.
pub fn parse(text: &str, name: &str) -> Result<Plan, PlanError> {
    parse_checked(text, name, check::check)
}

/// The same of a plan under work, which may have no light yet.
pub fn parse_draft(text: &str, name: &str) -> Result<Plan, PlanError> {
    parse_checked(text, name, check::draft)
}

fn parse_checked(
    text: &str,
    name: &str,
    check: fn(&Plan) -> Vec<Fault>,
) -> Result<Plan, PlanError> {
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    let failed = |faults: Vec<(Range<usize>, Fault)>| {
        let locate = |(range, fault)| LocatedFault::at(text, range, fault);
        let mut faults: Vec<_> = faults.into_iter().map(locate).collect();
        faults.sort_by_key(|fault| (fault.line, fault.column));
        Err(PlanError::Text { name: name.into(), faults })
    };
    if text.trim().is_empty() {
        return Err(PlanError::File {
            name: name.into(),
            problem: "the file is empty".into(),
            remedy: "start from a shipped plan: `foreshadow new PLAN --from lamplighter`".into(),
        });
    }
    let index = Index::new(text);
    if let Some(fault) = diagnose::format(text, &index) {
        return failed(vec![fault]);
    }
    let mut plan: Plan = match language().from_str(text) {
        Ok(plan) => plan,
        Err(error) => return failed(vec![diagnose::syntax(text, &index, &error)]),
    };
    let faults = check(&plan);
    if !faults.is_empty() {
        let range = |fault: &Fault| index.value(&fault.path).unwrap_or(0..1);
        return failed(faults.into_iter().map(|fault| (range(&fault), fault)).collect());
    }
    plan.note = match (opening_comment(text), plan.note) {
        (head, note) if note.is_empty() => head,
        (head, note) if head.is_empty() => note,
        (head, note) => format!("{head}\n{note}"),
    };
    Ok(plan)
}

/// A fault that shows only when the set is built, put at its line in the file that the plan
/// was read from.
pub fn blame(path: impl AsRef<Path>, fault: Fault) -> PlanError {
    let path = path.as_ref();
    let name = path.display().to_string();
    match text(path, &name) {
        Ok(text) => {
            let text = text.strip_prefix('\u{feff}').unwrap_or(&text);
            let range = Index::new(text).value(&fault.path).unwrap_or(0..1);
            PlanError::Text { name, faults: vec![LocatedFault::at(text, range, fault)] }
        }
        // the file has gone since it was read; the fault still stands
        Err(_) => PlanError::File { name, problem: fault.problem, remedy: fault.remedy },
    }
}

/// The `//` lines that open the file.
fn opening_comment(text: &str) -> String {
    text.lines()
        .map_while(|line| line.trim_start().strip_prefix("//"))
        .map(|line| line.strip_prefix(' ').unwrap_or(line).trim_end())
        .collect::<Vec<_>>()
        .join("\n")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_opening_comment_is_the_note() {
        let lit = "ambient: (ev: 5)";
        let note = |head: &str, field: &str| {
            parse(&format!("{head}(format: 1, {lit}{field})"), "test").unwrap().note
        };
        assert_eq!(note("", ""), "");
        assert_eq!(note("// One.\n//  Two.\n// \n\n// not this\n", ""), "One.\n Two.\n");
        assert_eq!(note("", ", note: \"Three.\""), "Three.");
        assert_eq!(note("// One.\n", ", note: \"Three.\""), "One.\nThree.");
    }
}
