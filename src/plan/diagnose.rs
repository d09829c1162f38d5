//! A parser's complaint in the words of the plan.
//!
//! In: the text, its index and the parser's error. Out: the range to mark, what is wrong with the
//! value there, and what would be right.

use std::ops::Range;

use ron::error::{Error, Position, SpannedError};

use super::error::Fault;
use super::locate::{Index, Token, Tokens};
use super::read::FORMAT;
use super::suggest::nearest;

/// A fault if the text names a language version that this program cannot read.
pub(super) fn format(text: &str, index: &Index) -> Option<(Range<usize>, Fault)> {
    let range = index.exact("format")?;
    let written = &text[range.clone()];
    let version: Option<u64> = written.parse().ok();
    if version == Some(FORMAT.into()) {
        return None;
    }
    let remedy = match version {
        Some(v) if v > FORMAT.into() => {
            format!("this program reads format {FORMAT}; a newer program wrote the plan")
        }
        _ => format!("write `format: {FORMAT}`"),
    };
    let problem = format!("`{}` is not a known format of plans", short(written));
    Some((range, Fault { path: "format".into(), label: "format".into(), problem, remedy }))
}

/// The parser's error as a fault.
pub(super) fn syntax(text: &str, index: &Index, error: &SpannedError) -> (Range<usize>, Fault) {
    let here = Here::new(text, error);
    let (range, problem, remedy) = match here.bare_fraction() {
        Some(token) => (
            here.range(token),
            format!("`{}` cannot be read", short(here.word(token))),
            format!("a fraction goes in quotes: \"{}\"", short(here.word(token))),
        ),
        None => explain(&here, &error.code),
    };
    let path = match &error.code {
        Error::DuplicateStructField { field, .. } => (*field).to_owned(),
        _ => index.path_at(range.start).unwrap_or_default().to_owned(),
    };
    (range, Fault { label: path.clone(), path, problem, remedy })
}

/// The tokens about the place where the parser stopped.
struct Here<'a> {
    text: &'a str,
    tokens: Vec<(Token, Range<usize>)>,
    /// First token that ends after the parser's position.
    next: usize,
    /// Whether the parser stopped inside that token.
    inside: bool,
}

impl<'a> Here<'a> {
    fn new(text: &'a str, error: &SpannedError) -> Self {
        let tokens: Vec<_> = Tokens::new(text).collect();
        let stopped = offset(text, error.span.end);
        let next = tokens.partition_point(|(_, range)| range.end <= stopped);
        let inside = tokens.get(next).is_some_and(|(_, range)| range.start < stopped);
        Self { text, tokens, next, inside }
    }

    fn range(&self, token: usize) -> Range<usize> {
        let end = self.text.trim_end().len();
        self.tokens.get(token).map_or(end.saturating_sub(1)..end, |(_, range)| range.clone())
    }

    fn word(&self, token: usize) -> &'a str {
        &self.text[self.range(token)]
    }

    /// The last token read: the value that was refused.
    fn value(&self) -> usize {
        self.next.saturating_sub(1)
    }

    /// The last token before the stop that reads `word`.
    fn last(&self, word: &str) -> usize {
        let read = self.tokens[..(self.next + 1).min(self.tokens.len())].iter();
        read.rev()
            .position(|(_, range)| &self.text[range.clone()] == word)
            .map_or(self.value(), |back| (self.next + 1).min(self.tokens.len()) - 1 - back)
    }

    fn at_end(&self) -> bool {
        self.next >= self.tokens.len()
    }

    /// A number that was refused: the last token read, unless the parser stopped inside one.
    fn number(&self) -> usize {
        let ends = matches!(self.word(self.next), ")" | "]" | ",");
        if ends || (self.at_end() && !self.inside) { self.value() } else { self.next }
    }

    /// `1/8` without quotes about here.
    fn bare_fraction(&self) -> Option<usize> {
        [self.value(), self.next].into_iter().find(|token| {
            let word = self.word(*token).trim_start_matches(['-', '+']);
            word.split_once('/').is_some_and(|(top, bottom)| {
                let digits = |t: &str| !t.is_empty() && t.bytes().all(|b| b.is_ascii_digit());
                digits(top) && digits(bottom)
            })
        })
    }

    /// The token that the parser could not take: the next one, or the one it stands in.
    fn stopper(&self) -> usize {
        self.next
    }
}

fn offset(text: &str, position: Position) -> usize {
    let line: usize =
        text.split_inclusive('\n').take(position.line.saturating_sub(1)).map(str::len).sum();
    let column = position.col.saturating_sub(1);
    text[line..].char_indices().nth(column).map_or(text.len(), |(at, _)| line + at)
}

fn short(word: &str) -> String {
    let line: String =
        word.chars().take(40).map(|c| if c.is_control() { ' ' } else { c }).collect();
    if line.len() < word.len() { format!("{line}…") } else { line }
}

fn explain(here: &Here, error: &Error) -> (Range<usize>, String, String) {
    let at = |token: usize| here.range(token);
    let stop = here.stopper();
    let found = short(here.word(stop));
    let not =
        |kind: &str, how: &str| (at(stop), format!("`{found}` is not {kind}"), how.to_owned());
    match error {
        Error::NoSuchStructField { expected, found, outer } => {
            let thing = outer.as_deref().map_or("this place".into(), thing);
            (
                at(here.last(found)),
                format!("there is no field `{}` in {thing}", short(found)),
                choice(found, expected, "the fields"),
            )
        }
        Error::NoSuchEnumVariant { expected, found, outer } => {
            let thing = outer.as_deref().map_or("this place".into(), thing);
            (
                at(here.last(found)),
                format!("there is no `{}` for {thing}", short(found)),
                choice(found, expected, "the choices"),
            )
        }
        Error::MissingStructField { field, outer } => {
            let thing = outer.as_deref().map_or("this place".into(), thing);
            let remedy = match *field {
                "format" => format!("start the plan with `format: {FORMAT},`"),
                _ => format!("add `{field}: …`"),
            };
            let token = if here.word(stop) == ")" { stop } else { here.value() };
            (at(token), format!("the field `{field}` of {thing} is missing"), remedy)
        }
        Error::DuplicateStructField { field, .. } => (
            at(here.last(field)),
            format!("the field `{field}` is given twice"),
            "keep one of them".into(),
        ),
        Error::Message(message) => {
            let (problem, remedy) = message.split_once('\n').unwrap_or((message, "see README.md"));
            (at(here.value()), problem.into(), remedy.into())
        }
        Error::InvalidValueForType { expected, .. } => {
            let token = if opens(here.word(stop)) { stop } else { here.value() };
            let (kind, how) = expected.split_once(": ").unwrap_or((expected, expected));
            (
                at(token),
                format!("`{}` is not {kind}", short(here.word(token))),
                format!("write {how}"),
            )
        }
        Error::ExpectedDifferentLength { expected, found } => {
            (at(here.value()), format!("{found} values are given"), format!("write {expected}"))
        }
        Error::ExpectedComma if here.at_end() => too_early(here),
        Error::ExpectedComma if here.inside && found.parse::<f64>().is_ok() => {
            not("a whole number", "leave the decimals out")
        }
        Error::ExpectedComma => (at(stop), format!("`{found}` is in the way"), comma_hint(here)),
        Error::ExpectedMapColon => (
            at(stop),
            format!("`{found}` stands where a colon is wanted"),
            "write `name: value`".into(),
        ),
        Error::ExpectedFloat | Error::FloatUnderscore => not(
            "a number",
            if found.starts_with('"') {
                "write the number alone, without quotes and unit"
            } else {
                "write a number such as 2.5"
            },
        ),
        Error::ExpectedInteger | Error::IntegerOutOfBounds | Error::InvalidIntegerDigit { .. } => {
            let token = here.number();
            (
                at(token),
                format!("`{}` is not a whole number in range", short(here.word(token))),
                "write a whole number such as 2, from 0 up".into(),
            )
        }
        Error::ExpectedBoolean => not("true or false", "write `true` or `false`"),
        Error::ExpectedString => not("a text", "write it in quotes: \"…\""),
        Error::ExpectedArray => not("a list", "write a list in square brackets: `[ … ]`"),
        Error::ExpectedArrayEnd => not("the end of the list", "close the list with `]`"),
        Error::ExpectedStructLike | Error::ExpectedNamedStructLike(_) => {
            not("a group of fields", "write its fields in round brackets: `( … )`")
        }
        Error::ExpectedDifferentStructName { found, .. } => (
            at(here.last(found)),
            format!("`{}` is not what belongs here", short(found)),
            "leave the name out and write the fields in round brackets: `( … )`".into(),
        ),
        Error::ExpectedStructLikeEnd | Error::ExpectedOptionEnd => {
            not("the end of this group", "close the group with `)`; separate values by commas")
        }
        Error::ExpectedIdentifier
        | Error::InvalidIdentifier(_)
        | Error::SuggestRawIdentifier(_) => {
            not("a name", "write a field's or a choice's name here, without quotes")
        }
        Error::Eof | Error::UnclosedBlockComment | Error::ExpectedStringEnd => too_early(here),
        Error::TrailingCharacters => (
            at(stop),
            format!("`{found}` stands after the end of the plan"),
            "the plan is one group `( … )`; is there a bracket too many above?".into(),
        ),
        Error::ExceededRecursionLimit => (
            at(stop),
            "brackets are nested too deeply".into(),
            "a plan needs about 8 brackets within brackets".into(),
        ),
        Error::NoSuchExtension(name) => (
            at(here.last(name)),
            format!("there is no extension `{}`", short(name)),
            "leave the `#![enable(…)]` line out; plans need none".into(),
        ),
        other => {
            let said = other.to_string();
            let mut letters = said.chars();
            let said = letters.next().map(|c| c.to_lowercase().chain(letters).collect::<String>());
            (
                at(stop),
                format!("`{found}` cannot be read: {}", short(&said.unwrap_or_default())),
                "compare with a shipped plan: `foreshadow new`".into(),
            )
        }
    }
}

fn too_early(here: &Here) -> (Range<usize>, String, String) {
    (
        here.range(usize::MAX),
        "the plan ends too early".into(),
        "close every quote, `(`, `[` and `/*` that is open".into(),
    )
}

fn opens(word: &str) -> bool {
    matches!(word, "(" | "[" | "{")
}

/// A type's name as a photographer would say it.
fn thing(type_name: &str) -> String {
    match type_name {
        "Plan" => "the plan".into(),
        "Room" | "Camera" | "Sitter" | "Head" | "Hair" | "Garment" | "Framing" | "Vignetting"
        | "Development" => {
            format!("the {}", type_name.to_lowercase())
        }
        "SetBox" => "a box".into(),
        "Extent" => "the part to frame".into(),
        "FramedBy" => "how the frame is reached".into(),
        "ChannelMix" => "the channels of black and white".into(),
        "HeadTurn" => "the sitter's head".into(),
        "ClothShape" => "a cloth's shape".into(),
        "BoardKind" => "a board's kind".into(),
        "CutOut" => "a cut-out".into(),
        "HairStyle" => "a hair style".into(),
        "GarmentCut" => "a garment's cut".into(),
        "Output" | "Ambient" => format!("an {}", type_name.to_lowercase()),
        other => format!("a {}", other.to_lowercase()),
    }
}

fn choice(word: &str, known: &[&str], what: &str) -> String {
    let all = known.join(", ");
    match nearest(word, known.iter().copied()) {
        Some(near) => format!("did you mean `{near}`? {what} are {all}"),
        None => format!("{what} are {all}"),
    }
}

/// Why something is in the way of the next comma.
fn comma_hint(here: &Here) -> String {
    let (value, stop) = (here.word(here.value()), here.word(here.stopper()));
    let number = value.starts_with(|c: char| c.is_ascii_digit() || matches!(c, '-' | '+' | '.'));
    let value = short(value);
    let stop = short(stop);
    if number && stop.starts_with(char::is_alphabetic) && stop.len() < 8 {
        format!("a value with its unit goes in quotes: \"{value} {stop}\"")
    } else if opens(&stop) {
        format!("`{value}` takes no fields; or a comma is missing before it")
    } else {
        "separate fields by commas and close the group with `)`".into()
    }
}
