//! What is wrong with a plan, said so that it can be put right.
//!
//! Every fault names the file, the line, the field, the value, and what would be right.

use std::fmt;
use std::io;
use std::ops::Range;

/// A list longer than this is cut; the rest is counted.
const SHOWN: usize = 10;
/// Longest excerpt of a source line, in characters.
const EXCERPT: usize = 88;

/// Why a plan cannot be used or kept.
#[derive(Debug, thiserror::Error)]
pub enum PlanError {
    /// The file cannot be read as a text of reasonable size.
    #[error("{name}: {problem}\n   hint: {remedy}")]
    File {
        /// Path as the user gave it.
        name: String,
        /// What is wrong.
        problem: String,
        /// What to do.
        remedy: String,
    },
    /// The operating system does not let the file be read.
    #[error("{name}: cannot read the plan: {}", reason(.source))]
    Read {
        /// Path as the user gave it.
        name: String,
        /// The system's answer.
        source: io::Error,
    },
    /// The operating system does not let the file be written.
    #[error("{name}: cannot write the plan: {}", reason(.source))]
    Write {
        /// Path as the user gave it.
        name: String,
        /// The system's answer.
        source: io::Error,
    },
    /// The text has faults.
    #[error("{}", list(.name, .faults))]
    Text {
        /// Name of the text, usually its path.
        name: String,
        /// At least one.
        faults: Vec<LocatedFault>,
    },
}

/// A system error in plain words.
pub(crate) fn reason(error: &io::Error) -> String {
    match error.kind() {
        io::ErrorKind::NotFound => "there is no such file or folder".into(),
        io::ErrorKind::PermissionDenied => "permission is denied".into(),
        io::ErrorKind::ReadOnlyFilesystem => "the file system is read-only".into(),
        io::ErrorKind::StorageFull => "the disk is full".into(),
        io::ErrorKind::IsADirectory => "it is a folder".into(),
        _ => error.to_string(),
    }
}

/// A violation before it is looked up in the text.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Fault {
    /// Path of the field, `lights[1].power`.
    pub path: String,
    /// Path as shown, with the thing's own name: `lights[1] "fill".power`.
    pub label: String,
    /// One sentence with the value.
    pub problem: String,
    /// What would be right.
    pub remedy: String,
}

/// A fault with the line it stands on.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LocatedFault {
    /// The field as shown; empty where none is meant.
    pub label: String,
    /// Counted from 1.
    pub line: usize,
    /// In characters, counted from 1.
    pub column: usize,
    /// One sentence with the value.
    pub problem: String,
    /// What would be right.
    pub remedy: String,
    /// The source line (a part of it if it is long).
    excerpt: String,
    /// Blanks before the mark, and its length.
    mark: (usize, usize),
}

impl LocatedFault {
    /// Puts a fault at a byte range of the text.
    pub(super) fn at(text: &str, range: Range<usize>, fault: Fault) -> Self {
        let start = floor_boundary(text, range.start);
        let line_start = text[..start].rfind('\n').map_or(0, |at| at + 1);
        let line_end = text[start..].find('\n').map_or(text.len(), |at| start + at);
        let end = floor_boundary(text, range.end).clamp(start, line_end);
        let before = text[line_start..start].chars().count();
        let wide = text[start..end].chars().count().max(1);
        let line: Vec<char> = text[line_start..line_end].trim_end_matches('\r').chars().collect();
        let from = if line.len() > EXCERPT { before.saturating_sub(EXCERPT / 3) } else { 0 };
        let excerpt = line.iter().skip(from).take(EXCERPT);
        Self {
            label: fault.label,
            line: text[..start].matches('\n').count() + 1,
            column: before + 1,
            problem: fault.problem,
            remedy: fault.remedy,
            excerpt: excerpt.map(|c| if c.is_control() { ' ' } else { *c }).collect(),
            mark: (before - from, wide.min(EXCERPT.saturating_sub(before - from)).max(1)),
        }
    }
}

fn floor_boundary(text: &str, at: usize) -> usize {
    (0..=at.min(text.len())).rev().find(|at| text.is_char_boundary(*at)).unwrap_or(0)
}

impl fmt::Display for LocatedFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if !self.label.is_empty() {
            write!(f, "{}: ", self.label)?;
        }
        writeln!(f, "{}", self.problem)?;
        let number = self.line.to_string();
        let (blank, caret) = (" ".repeat(self.mark.0), "^".repeat(self.mark.1));
        writeln!(f, "   {number} | {}", self.excerpt)?;
        writeln!(f, "   {} | {blank}{caret}", " ".repeat(number.len()))?;
        write!(f, "   hint: {}", self.remedy)
    }
}

fn list(name: &str, faults: &[LocatedFault]) -> String {
    let one = |fault: &LocatedFault| format!("{name}:{}:{}: {fault}", fault.line, fault.column);
    match faults {
        [fault] => one(fault),
        _ => {
            let mut lines = vec![format!("{name}: {} faults", faults.len())];
            lines.extend(faults.iter().take(SHOWN).map(one));
            if faults.len() > SHOWN {
                lines.push(format!("and {} more", faults.len() - SHOWN));
            }
            lines.join("\n")
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn fault() -> Fault {
        Fault {
            path: "a.b".into(),
            label: "a.b".into(),
            problem: "`x` is not a number".into(),
            remedy: "write 1".into(),
        }
    }

    #[test]
    fn shows_line_and_caret() {
        let text = "(\n  ä: x,\n)";
        let at = text.find('x').unwrap();
        let error = PlanError::Text {
            name: "set.ron".into(),
            faults: vec![LocatedFault::at(text, at..at + 1, fault())],
        };
        assert_eq!(
            error.to_string(),
            "set.ron:2:6: a.b: `x` is not a number\n   2 |   ä: x,\n     |      ^\n   hint: write 1"
        );
    }

    #[test]
    fn any_range_of_any_text_is_shown() {
        for text in ["", "ä", "a\r\nb", "\n\n", &"long ".repeat(200)] {
            for start in 0..text.len() + 3 {
                for end in [start, start + 1, text.len() + 9] {
                    assert!(
                        LocatedFault::at(text, start..end, fault()).to_string().contains("hint")
                    );
                }
            }
        }
    }
}
