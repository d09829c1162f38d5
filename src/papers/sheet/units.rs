//! Lengths in words, metric or in feet.

use serde::Serialize;

/// What lengths are printed in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize)]
pub enum Units {
    /// Metres to the centimetre.
    #[default]
    #[serde(rename = "m")]
    Metres,
    /// Feet and inches to the half inch.
    #[serde(rename = "ft")]
    Feet,
}

const INCH_M: f64 = 0.0254;

impl Units {
    /// `2.45 m`, `8′ 0½″`; its parts do not part at a line's end.
    pub fn length(self, metres: f64) -> String {
        let sign = if metres < 0.0 { "−" } else { "" };
        match self {
            Self::Metres => {
                let shown = format!("{:.2}", metres.abs());
                if shown == "0.00" { "0\u{a0}m".into() } else { format!("{sign}{shown}\u{a0}m") }
            }
            Self::Feet => {
                let halves = (metres.abs() / INCH_M * 2.0).round() as i64;
                let (feet, rest) = (halves / 24, halves % 24);
                let half = if rest % 2 == 1 { "½" } else { "" };
                let inches = match (rest / 2, half) {
                    (0, "½") => "½″".to_owned(),
                    (whole, half) => format!("{whole}{half}″"),
                };
                match (feet, rest) {
                    (0, 0) => "0".into(),
                    (0, _) => format!("{sign}{inches}"),
                    (_, 0) => format!("{sign}{feet}′"),
                    _ => format!("{sign}{feet}′\u{a0}{inches}"),
                }
            }
        }
    }

    /// Lines of a drawing's grid: 1 m, or 3 ft.
    pub fn grid_m(self) -> f64 {
        match self {
            Self::Metres => 1.0,
            Self::Feet => 36.0 * INCH_M,
        }
    }

    /// A whole number of grid lines in words.
    pub fn grid_label(self, lines: i64) -> String {
        let shown = match self {
            Self::Metres => lines,
            Self::Feet => 3 * lines,
        };
        shown.to_string().replace('-', "−")
    }

    /// The unit's name on a scale bar.
    pub fn name(self) -> &'static str {
        match self {
            Self::Metres => "m",
            Self::Feet => "ft",
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lengths_in_words() {
        assert_eq!(Units::Metres.length(2.454), "2.45\u{a0}m");
        assert_eq!(Units::Metres.length(-0.5), "−0.50\u{a0}m");
        assert_eq!(Units::Metres.length(-0.001), "0\u{a0}m");
        for (metres, shown) in [
            (0.3048, "1′"),
            (2.4384, "8′"),
            (2.4511, "8′\u{a0}½″"),
            (0.127, "5″"),
            (1.7145, "5′\u{a0}7½″"),
            (0.0, "0"),
            (-0.3048, "−1′"),
        ] {
            assert_eq!(Units::Feet.length(metres), shown);
        }
    }
}
