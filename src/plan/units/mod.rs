//! Values with their units, as photographers spell them.
//!
//! In: a number or a text in the plan file. Out: one physical quantity, or a sentence that says
//! what is wrong with the value and, on a second line, what would be right.

mod length;
mod power;
mod setting;

use std::fmt;
use std::marker::PhantomData;

use serde::de::{self, Deserializer, Visitor};

pub use length::{Length, LengthUnit};
pub use power::Power;
pub use setting::{Aperture, Diffusion, Neutral, Shutter};

/// Why a written value is no such quantity.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{problem}\n{remedy}")]
pub struct UnitError {
    /// One sentence with the value.
    pub problem: String,
    /// What to write instead.
    pub remedy: String,
}

impl UnitError {
    fn new(problem: impl Into<String>, remedy: impl Into<String>) -> Self {
        Self { problem: problem.into(), remedy: remedy.into() }
    }
}

/// A quantity that may be written as a bare number or as a text with its unit.
trait Spelled: Sized {
    /// What a reader should have written, for messages.
    const EXPECTED: &'static str;
    fn from_number(number: f64) -> Result<Self, UnitError>;
    fn from_text(text: &str) -> Result<Self, UnitError>;
}

fn spelled<'de, T: Spelled, D: Deserializer<'de>>(deserializer: D) -> Result<T, D::Error> {
    struct SpelledVisitor<T>(PhantomData<T>);
    impl<T: Spelled> Visitor<'_> for SpelledVisitor<T> {
        type Value = T;
        fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
            f.write_str(T::EXPECTED)
        }
        fn visit_f64<E: de::Error>(self, number: f64) -> Result<T, E> {
            T::from_number(number).map_err(E::custom)
        }
        fn visit_i64<E: de::Error>(self, number: i64) -> Result<T, E> {
            self.visit_f64(number as f64)
        }
        fn visit_u64<E: de::Error>(self, number: u64) -> Result<T, E> {
            self.visit_f64(number as f64)
        }
        fn visit_str<E: de::Error>(self, text: &str) -> Result<T, E> {
            T::from_text(text).map_err(E::custom)
        }
    }
    deserializer.deserialize_any(SpelledVisitor(PhantomData))
}

/// What was written, in quotes, cut where it is too long for a message.
fn quoted(text: &str) -> String {
    let short: String = text.chars().take(40).collect();
    let more = if short.len() < text.len() { "…" } else { "" };
    format!("\"{}{more}\"", short.escape_debug())
}

/// A plain decimal number: digits, one point, a sign, an exponent; neither `inf` nor `nan`.
fn decimal(text: &str) -> Option<f64> {
    let plain = !text.is_empty()
        && text.chars().all(|c| c.is_ascii_digit() || matches!(c, '.' | '+' | '-' | 'e' | 'E'));
    if plain { text.parse().ok().filter(|n: &f64| n.is_finite()) } else { None }
}

/// `a/b` with whole numbers, b above 0.
fn fraction(text: &str) -> Option<(f64, f64)> {
    let (top, bottom) = text.split_once('/')?;
    let (top, bottom) = (top.trim(), bottom.trim());
    let whole = |t: &str| (!t.is_empty() && t.bytes().all(|b| b.is_ascii_digit())).then_some(());
    whole(top)?;
    let bottom: f64 = decimal(bottom).filter(|b| *b > 0.0)?;
    Some((decimal(top)?, bottom))
}

/// A number with at most `places` decimals and no trailing zeros.
fn trimmed(number: f64, places: usize) -> String {
    let text = format!("{number:.places$}");
    let text =
        if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.') } else { &text };
    if text == "-0" { "0".into() } else { text.into() }
}
