//! From a plan to a file that reads well.
//!
//! In: a [`Plan`]. Out: RON in a stable order, defaults left out, short groups on one line. Reading
//! the text gives the same plan. Comments of an earlier file are not kept, but for the `//` lines
//! that open it, which travel as the plan's `note`.

use std::path::Path;

use super::Plan;
use super::error::PlanError;
use super::locate::{Token, Tokens};
use super::read::language;
use crate::files;

/// Longest line that a group is joined to, in characters.
const WIDEST: usize = 96;

/// Writes the plan; the file is there whole or stays as it was.
pub fn write(plan: &Plan, path: impl AsRef<Path>) -> Result<(), PlanError> {
    let path = path.as_ref();
    let failed = |source| PlanError::Write { name: path.display().to_string(), source };
    let text = to_text(plan).map_err(|error| failed(std::io::Error::other(error)))?;
    files::write_whole(path, text.as_bytes()).map_err(failed)
}

/// The plan as a text that [`super::parse`] reads back.
pub fn to_text(plan: &Plan) -> Result<String, ron::Error> {
    let mut out = String::new();
    let mut plan = plan.clone();
    if is_comment(&plan.note) {
        for line in plan.note.split('\n') {
            out.push_str(format!("// {line}").trim_end());
            out.push('\n');
        }
        plan.note.clear();
    }
    spread(&plan, &mut out, |compact| compact)?;
    Ok(out)
}

/// The same in printable ASCII, for files whose texts hold nothing else: the note stays a field,
/// and other letters, which stand only within quotes, are escaped.
pub fn to_ascii(plan: &Plan) -> Result<String, ron::Error> {
    let mut out = String::new();
    spread(plan, &mut out, |compact| {
        let escaped =
            |c: char| if c.is_ascii() { c.to_string() } else { format!("\\u{{{:x}}}", c as u32) };
        compact.chars().map(escaped).collect()
    })?;
    Ok(out)
}

fn spread(
    plan: &Plan,
    out: &mut String,
    spell: impl Fn(String) -> String,
) -> Result<(), ron::Error> {
    let compact = spell(language().to_string(plan)?);
    let tokens: Vec<Piece> = pieces(&compact);
    lay(&tokens, 0, out);
    out.push('\n');
    Ok(())
}

/// Whether a note reads back the same from `//` lines.
fn is_comment(note: &str) -> bool {
    let plain = |line: &str| {
        line.trim_end() == line && !line.chars().any(|c| c.is_control() || c == '\u{2028}')
    };
    !note.is_empty() && note.split('\n').all(plain)
}

/// A word, or a bracketed group with the words before and inside it.
enum Piece<'a> {
    Word(&'a str),
    Group { head: String, close: char, items: Vec<Vec<Piece<'a>>> },
}

/// Reads compact RON into pieces. The depth is that of our own types, so recursion is bounded.
fn pieces(text: &str) -> Vec<Piece<'_>> {
    let tokens: Vec<_> = Tokens::new(text).map(|(token, range)| (token, &text[range])).collect();
    let mut at = 0;
    items(&tokens, &mut at).into_iter().flatten().collect()
}

fn items<'a>(tokens: &[(Token, &'a str)], at: &mut usize) -> Vec<Vec<Piece<'a>>> {
    let mut all: Vec<Vec<Piece>> = Vec::new();
    let mut item: Vec<Piece> = Vec::new();
    while let Some((token, text)) = tokens.get(*at) {
        *at += 1;
        match token {
            Token::Word | Token::Mark(b':') => item.push(Piece::Word(text)),
            Token::Mark(b',') => all.push(std::mem::take(&mut item)),
            Token::Mark(b'(' | b'[' | b'{') => {
                // the choice's name belongs to its bracket: `Around(`
                let named = matches!(item.last(), Some(Piece::Word(word)) if *word != ":");
                let name = match item.pop_if(|_| named) {
                    Some(Piece::Word(word)) => word,
                    _ => "",
                };
                let close = if *text == "[" { ']' } else { ')' };
                let inside = items(tokens, at);
                item.push(Piece::Group { head: format!("{name}{text}"), close, items: inside });
            }
            Token::Mark(_) => break,
        }
    }
    if !item.is_empty() {
        all.push(item);
    }
    all
}

/// An item on one line.
fn flat(item: &[Piece], out: &mut String) {
    for piece in item {
        match piece {
            Piece::Word(":") => out.push_str(": "),
            Piece::Word(word) => out.push_str(word),
            Piece::Group { head, close, items } => {
                out.push_str(head);
                for (number, item) in items.iter().enumerate() {
                    if number > 0 {
                        out.push_str(", ");
                    }
                    flat(item, out);
                }
                out.push(*close);
            }
        }
    }
}

/// An item that starts at `indent` blanks: on one line where it fits, except that the plan and
/// the things in its lists are always spread out, one field a line.
fn lay(item: &[Piece], indent: usize, out: &mut String) {
    for piece in item {
        let Piece::Group { head, close, items } = piece else {
            match piece {
                Piece::Word(":") => out.push_str(": "),
                Piece::Word(word) => out.push_str(word),
                Piece::Group { .. } => {}
            }
            continue;
        };
        let mut line = String::new();
        flat(std::slice::from_ref(piece), &mut line);
        let used = out.len() - out.rfind('\n').map_or(0, |at| at + 1);
        let spread = indent == 0 || (head == "(" && indent == 8 && items.len() > 4);
        if items.is_empty() || (!spread && used + line.chars().count() < WIDEST) {
            out.push_str(&line);
            continue;
        }
        out.push_str(head);
        out.push('\n');
        for item in items {
            out.push_str(&" ".repeat(indent + 4));
            lay(item, indent + 4, out);
            out.push_str(",\n");
        }
        out.push_str(&" ".repeat(indent));
        out.push(*close);
    }
}
