//! Numbers of a photometric file with the lines they stand on.

use super::PhotometricError;

/// Words between blanks and commas, with their lines (from 1).
pub(super) struct Words<'a> {
    words: std::vec::IntoIter<(usize, &'a str)>,
    line: usize,
}

impl<'a> Words<'a> {
    /// Words of `lines`, each with its number.
    pub fn new(lines: impl Iterator<Item = (usize, &'a str)>) -> Self {
        let words: Vec<_> = lines
            .flat_map(|(number, line)| {
                let split = line.split(|c: char| c.is_whitespace() || c == ',' || c == '\u{1a}');
                split.filter(|word| !word.is_empty()).map(move |word| (number, word))
            })
            .collect();
        let line = words.first().map_or(1, |(line, _)| *line);
        Self { words: words.into_iter(), line }
    }

    /// Line of the last word read.
    pub fn line(&self) -> usize {
        self.line
    }

    /// The next number, which stands for `what`.
    pub fn number(&mut self, what: &str) -> Result<f64, PhotometricError> {
        let Some((line, word)) = self.words.next() else {
            return fault(self.line, format!("the file ends before {what}"));
        };
        self.line = line;
        number(line, word, what)
    }

    /// The next number, which must be whole and within bounds.
    pub fn whole(&mut self, what: &str, low: i64, high: i64) -> Result<i64, PhotometricError> {
        let value = self.number(what)?;
        whole(self.line, value, what, low, high)
    }

    /// The next `count` numbers.
    pub fn list(&mut self, count: usize, what: &str) -> Result<Vec<f64>, PhotometricError> {
        // the capacity a file claims is not trusted
        let mut list = Vec::new();
        for n in 0..count {
            list.push(self.number(&format!("{what} {} of {count}", n + 1))?);
        }
        Ok(list)
    }
}

/// A finite number; a decimal comma is read as a point where the caller kept it.
pub(super) fn number(line: usize, word: &str, what: &str) -> Result<f64, PhotometricError> {
    match word.replace(',', ".").parse::<f64>() {
        Ok(value) if value.is_finite() => Ok(value),
        _ => fault(line, format!("`{}` is no number for {what}", shown(word))),
    }
}

/// A value that must be whole and within bounds.
pub(super) fn whole(
    line: usize,
    value: f64,
    what: &str,
    low: i64,
    high: i64,
) -> Result<i64, PhotometricError> {
    if value.fract() == 0.0 && (low as f64..=high as f64).contains(&value) {
        return Ok(value as i64);
    }
    fault(line, format!("{what} is {value}; it must be a whole number from {low} to {high}"))
}

/// Growing angles.
pub(super) fn growing(line: usize, angles: &[f64], what: &str) -> Result<(), PhotometricError> {
    match angles.windows(2).find(|pair| pair[1] <= pair[0]) {
        Some(pair) => {
            fault(line, format!("{what} go from {} to {}; they must grow", pair[0], pair[1]))
        }
        None => Ok(()),
    }
}

/// Not below zero, nor beyond all lamps.
pub(super) fn not_negative(line: usize, value: f64, what: &str) -> Result<f64, PhotometricError> {
    /// A lighthouse has some millions of candela.
    const MOST: f64 = 1e10;
    if value < 0.0 {
        return fault(line, format!("{what} is {value}; it cannot be below zero"));
    }
    if value > MOST {
        return fault(line, format!("{what} is {value}; no lamp has more than {MOST}"));
    }
    Ok(value)
}

pub(super) fn fault<T>(line: usize, problem: impl Into<String>) -> Result<T, PhotometricError> {
    Err(PhotometricError { line, problem: problem.into() })
}

/// A word of a file, short and printable.
pub(super) fn shown(word: &str) -> String {
    word.chars().take(24).flat_map(char::escape_debug).collect()
}
