//! The typeface that pages are set in, and how wide words are in it.
//!
//! DejaVu Sans Condensed 2.37, cut down to Latin, Greek, Cyrillic, fractions and arrows; its
//! licence lies beside it.

use std::sync::OnceLock;

use ttf_parser::Face;

use super::page::MM_PER_PT;

/// The regular face.
pub const REGULAR: &[u8] = include_bytes!("DejaVuSansCondensed.ttf");
/// The bold face.
pub const BOLD: &[u8] = include_bytes!("DejaVuSansCondensed-Bold.ttf");
/// The family's name inside the files.
pub const FAMILY: &str = "DejaVu Sans";

/// Top of a line's box over the baseline, in ems: an accent on a capital reaches it.
pub const ASCENT_EM: f64 = 0.93;
/// Foot of a line's box under the baseline, in ems.
pub const DESCENT_EM: f64 = 0.24;
/// Baseline to baseline, in ems.
pub const LEADING_EM: f64 = 1.22;

/// What stands for a letter that the typeface lacks.
const LACKING: char = '□';

fn faces() -> &'static [Option<Face<'static>>; 2] {
    static FACES: OnceLock<[Option<Face<'static>>; 2]> = OnceLock::new();
    // the files are ours and parse; a test holds it
    FACES.get_or_init(|| [REGULAR, BOLD].map(|file| Face::parse(file, 0).ok()))
}

fn face(bold: bool) -> Option<&'static Face<'static>> {
    faces()[usize::from(bold)].as_ref()
}

/// Width of a line of words in millimetres.
pub fn width_mm(words: &str, size_pt: f64, bold: bool) -> f64 {
    let Some(face) = face(bold) else { return 0.0 };
    let units: u32 = words
        .chars()
        .map(|letter| face.glyph_index(letter).unwrap_or_default())
        .map(|glyph| u32::from(face.glyph_hor_advance(glyph).unwrap_or_default()))
        .sum();
    f64::from(units) / f64::from(face.units_per_em()) * size_pt * MM_PER_PT
}

/// Baseline to baseline in millimetres.
pub fn leading_mm(size_pt: f64) -> f64 {
    LEADING_EM * size_pt * MM_PER_PT
}

/// The words on one line, with control characters as blanks and a box for each letter that
/// cannot be printed.
pub fn printable(words: &str) -> String {
    let lacks = |letter: char| face(false).is_some_and(|face| face.glyph_index(letter).is_none());
    words
        .chars()
        .map(|letter| match letter {
            // a blank that holds a number and its unit together
            '\u{a0}' => letter,
            _ if letter.is_whitespace() || letter.is_control() => ' ',
            _ if lacks(letter) => LACKING,
            _ => letter,
        })
        .collect()
}

/// The words in lines no wider than `width`; a word that is too wide by itself is broken.
pub fn wrapped(words: &str, size_pt: f64, bold: bool, width: f64) -> Vec<String> {
    let fits = |line: &str| width_mm(line, size_pt, bold) <= width;
    let mut lines: Vec<String> = Vec::new();
    let mut line = String::new();
    for word in printable(words).split(' ').filter(|word| !word.is_empty()) {
        let longer = if line.is_empty() { word.to_owned() } else { format!("{line} {word}") };
        if fits(&longer) {
            line = longer;
            continue;
        }
        if !line.is_empty() {
            lines.push(std::mem::take(&mut line));
        }
        for letter in word.chars() {
            line.push(letter);
            if !fits(&line) && line.chars().count() > 1 {
                line.pop();
                lines.push(std::mem::take(&mut line));
                line.push(letter);
            }
        }
    }
    if !line.is_empty() {
        lines.push(line);
    }
    lines
}

/// The words on one line no wider than `width`, cut short with dots where they are.
pub fn fitted(words: &str, size_pt: f64, bold: bool, width: f64) -> String {
    let mut words = printable(words);
    if width_mm(&words, size_pt, bold) <= width {
        return words;
    }
    while words.pop().is_some() {
        let cut = format!("{}…", words.trim_end());
        if width_mm(&cut, size_pt, bold) <= width {
            return cut;
        }
    }
    String::new()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_shipped_faces_have_the_letters_that_pages_use() {
        for face in faces() {
            let face = face.as_ref().expect("a shipped face parses");
            for letter in "AZaz09ÄßéŁЖΩ−–·×°±≈≤→⅓⅔½¼⅛′″…□".chars()
            {
                assert!(face.glyph_index(letter).is_some(), "{letter}");
            }
        }
    }

    #[test]
    fn words_are_measured_and_broken() {
        // the advance of a digit is 1171 of 2048 units in this face
        let digit = 1171.0 / 2048.0 * 10.0 * MM_PER_PT;
        assert!(
            (width_mm("0", 10.0, false) - digit).abs() < 0.02,
            "{}",
            width_mm("0", 10.0, false)
        );
        assert!((width_mm("00", 10.0, false) - 2.0 * width_mm("0", 10.0, false)).abs() < 1e-9);
        let lines = wrapped("one two three incomprehensibilities", 8.0, false, 15.0);
        assert!(lines.len() >= 4, "{lines:?}");
        for line in &lines {
            assert!(width_mm(line, 8.0, false) <= 15.0, "{line}");
        }
        assert!(fitted("a long line of words", 8.0, true, 12.0).ends_with('…'));
        assert_eq!(printable("a\nb\u{7}漢"), "a b □");
    }
}
