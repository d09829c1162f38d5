//! Where each field of a plan's text stands.
//!
//! In: RON text, right or wrong. Out: tokens, and an index from a field's path
//! (`lights[1].place.azimuth`) to the byte range of its value. It never fails: where the text
//! stops making sense the index ends. It does not recurse, so nesting cannot exhaust the stack.

use std::collections::HashMap;
use std::ops::Range;

/// Deeper nesting than any plan has; the index stops there.
const DEEPEST: usize = 32;

/// A piece of RON text.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Token {
    /// One of `( ) [ ] { } : ,`.
    Mark(u8),
    /// Identifier, number, string, or whatever else stands between marks.
    Word,
}

/// Splits text into tokens with their byte ranges; blanks and comments are passed over.
pub struct Tokens<'a> {
    text: &'a str,
    at: usize,
}

impl<'a> Tokens<'a> {
    /// Tokens of `text` from its start.
    pub fn new(text: &'a str) -> Self {
        Self { text, at: 0 }
    }

    fn skip_blanks(&mut self) {
        let bytes = self.text.as_bytes();
        while let Some(byte) = bytes.get(self.at) {
            if byte.is_ascii_whitespace() {
                self.at += 1;
            } else if bytes[self.at..].starts_with(b"//") {
                self.at = find(bytes, self.at, b"\n");
            } else if bytes[self.at..].starts_with(b"/*") {
                self.skip_block_comment();
            } else {
                break;
            }
        }
    }

    /// Block comments nest in RON.
    fn skip_block_comment(&mut self) {
        let bytes = self.text.as_bytes();
        let mut depth = 0usize;
        while self.at < bytes.len() {
            if bytes[self.at..].starts_with(b"/*") {
                (depth, self.at) = (depth + 1, self.at + 2);
            } else if bytes[self.at..].starts_with(b"*/") {
                (depth, self.at) = (depth - 1, self.at + 2);
                if depth == 0 {
                    return;
                }
            } else {
                self.at += 1;
            }
        }
    }

    /// End of the string that starts at `start` with a quote.
    fn string_end(&self, start: usize) -> usize {
        let bytes = self.text.as_bytes();
        let mut at = start + 1;
        while at < bytes.len() {
            match bytes[at] {
                b'\\' => at += 2,
                b'"' => return at + 1,
                _ => at += 1,
            }
        }
        bytes.len()
    }
}

impl Iterator for Tokens<'_> {
    type Item = (Token, Range<usize>);

    fn next(&mut self) -> Option<Self::Item> {
        self.skip_blanks();
        let bytes = self.text.as_bytes();
        let start = self.at;
        let first = *bytes.get(start)?;
        let token = match first {
            b'(' | b')' | b'[' | b']' | b'{' | b'}' | b':' | b',' => {
                self.at += 1;
                Token::Mark(first)
            }
            b'"' => {
                self.at = self.string_end(start);
                Token::Word
            }
            b'r' if raw_hashes(&bytes[start..]).is_some() => {
                let hashes = raw_hashes(&bytes[start..]).unwrap_or(0);
                let close = [b"\"".as_slice(), &vec![b'#'; hashes]].concat();
                let body = start + 1 + hashes + 1;
                self.at = (find(bytes, body, &close) + close.len()).min(bytes.len());
                Token::Word
            }
            _ => {
                while bytes
                    .get(self.at)
                    .is_some_and(|b| !b.is_ascii_whitespace() && !b"()[]{}:,\"".contains(b))
                    && !bytes[self.at..].starts_with(b"/*")
                    && !bytes[self.at..].starts_with(b"//")
                {
                    self.at += 1;
                }
                self.at = self.at.max(start + 1);
                Token::Word
            }
        };
        // an escape at the very end may point past it
        self.at = self.at.min(bytes.len());
        Some((token, start..self.at))
    }
}

/// Number of `#` of a raw string's opening `r##"`.
fn raw_hashes(bytes: &[u8]) -> Option<usize> {
    let hashes = bytes[1..].iter().take_while(|b| **b == b'#').count();
    (bytes.get(1 + hashes) == Some(&b'"')).then_some(hashes)
}

/// Where `what` next stands from `from`, or the end.
fn find(bytes: &[u8], from: usize, what: &[u8]) -> usize {
    let from = from.min(bytes.len());
    bytes[from..].windows(what.len()).position(|w| w == what).map_or(bytes.len(), |at| from + at)
}

/// Byte ranges of the values of a plan's text by path.
#[derive(Debug, Default)]
pub struct Index {
    values: HashMap<String, Range<usize>>,
}

/// An open bracket.
struct Frame {
    path: String,
    /// Position in a list; `None` in a struct.
    item: Option<usize>,
    /// Path of the value being read.
    value: Option<String>,
}

impl Index {
    /// Reads the text through once.
    pub fn new(text: &str) -> Self {
        let mut index = Self::default();
        let mut stack: Vec<Frame> = Vec::new();
        let mut last_word: Option<Range<usize>> = None;
        for (token, range) in Tokens::new(text) {
            match token {
                Token::Mark(b':') => {
                    if let (Some(frame), Some(word)) = (stack.last_mut(), last_word.take()) {
                        let key = &text[word];
                        let dot = if frame.path.is_empty() { "" } else { "." };
                        frame.value = Some(format!("{}{dot}{key}", frame.path));
                    }
                    continue;
                }
                Token::Mark(open @ (b'(' | b'[' | b'{')) => {
                    if stack.len() == DEEPEST {
                        break;
                    }
                    if let Some(path) = current(&stack) {
                        index.see(&path, &range);
                    }
                    let path = current(&stack).unwrap_or_default();
                    let item = (open == b'[').then_some(0);
                    stack.push(Frame { path, item, value: None });
                }
                Token::Mark(b',') => {
                    if let Some(frame) = stack.last_mut() {
                        frame.value = None;
                        frame.item = frame.item.map(|n| n + 1);
                    }
                }
                Token::Mark(_) => {
                    stack.pop();
                    if let Some(path) = current(&stack) {
                        index.see(&path, &range);
                    }
                }
                Token::Word => {
                    if let Some(path) = current(&stack) {
                        index.see(&path, &range);
                    }
                    last_word = Some(range);
                    continue;
                }
            }
            last_word = None;
        }
        index
    }

    /// The value at `path`, else at the nearest path above it that is written.
    pub fn value(&self, path: &str) -> Option<Range<usize>> {
        let mut path = path;
        loop {
            if let Some(range) = self.values.get(path) {
                return Some(range.clone());
            }
            path = &path[..path.rfind(['.', '['])?];
        }
    }

    /// The value at exactly `path`.
    pub fn exact(&self, path: &str) -> Option<Range<usize>> {
        self.values.get(path).cloned()
    }

    /// Every path at whose value `offset` lies, the innermost.
    pub fn path_at(&self, offset: usize) -> Option<&str> {
        self.values
            .iter()
            .filter(|(_, range)| range.contains(&offset))
            .min_by_key(|(path, range)| (range.len(), path.len()))
            .map(|(path, _)| path.as_str())
    }

    fn see(&mut self, path: &str, range: &Range<usize>) {
        match self.values.get_mut(path) {
            Some(known) => known.end = range.end,
            None => {
                self.values.insert(path.to_owned(), range.clone());
            }
        }
    }
}

/// The path that the next word is the value of, if it is one.
fn current(stack: &[Frame]) -> Option<String> {
    let frame = stack.last()?;
    match (&frame.value, frame.item) {
        (Some(value), _) => Some(value.clone()),
        (None, Some(item)) => Some(format!("{}[{item}]", frame.path)),
        (None, None) => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const TEXT: &str = r#"// a note: (not: this)
(
    format: 1,
    lights: [
        (name: "key, with (marks)", place: Around(azimuth: -60.0, /* in: [ */ distance: "5 ft")),
        (name: r"fill", power: -2, aim: Named("box")),
    ],
    camera: (iso: 100),
)"#;

    fn value<'a>(index: &Index, path: &str, text: &'a str) -> &'a str {
        &text[index.exact(path).unwrap_or_else(|| panic!("no {path}"))]
    }

    #[test]
    fn finds_values_by_path() {
        let index = Index::new(TEXT);
        for (path, text) in [
            ("format", "1"),
            ("lights[0].name", "\"key, with (marks)\""),
            ("lights[0].place.azimuth", "-60.0"),
            ("lights[0].place.distance", "\"5 ft\""),
            ("lights[1].power", "-2"),
            ("lights[1].aim", "Named(\"box\")"),
            ("camera", "(iso: 100)"),
        ] {
            assert_eq!(value(&index, path, TEXT), text, "{path}");
        }
        assert_eq!(index.value("camera.focal_mm"), index.exact("camera"));
        assert_eq!(index.value("lights[7].power"), index.exact("lights"));
        assert_eq!(index.value("nothing"), None);
        assert_eq!(index.path_at(TEXT.find("-60").unwrap()), Some("lights[0].place.azimuth"));
    }

    #[test]
    fn deep_and_broken_texts_end() {
        Index::new(&"[".repeat(2_000_000));
        Index::new(&"/*".repeat(2_000_000));
        Index::new(&"(a:".repeat(500_000));
        for text in
            ["", "\"", "\"\\", "r#\"x", "r", "/*", "(((", ")]}", "a:b:c", "((x:1),", "🙂(é: ü)"]
        {
            Index::new(text);
        }
    }
}
