//! Readings as a table for the terminal, in the steps and lengths that the photographer thinks in.
//!
//! No figure shows more than it knows: apertures and stops go by tenths or thirds, lx·s by three
//! digits at most, and a light whose tracing is not settled to half a tenth says so.

use super::readings::{LightReading, Readings};
use crate::optics::fstop::{self, Step};
use crate::plan::units::LengthUnit;
use crate::plan::{Aperture, Length, Shutter};

/// How a table is written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct TableStyle {
    /// Fractions of a stop.
    pub step: Step,
    /// Unit of lengths.
    pub unit: LengthUnit,
}

impl Default for TableStyle {
    fn default() -> Self {
        Self { step: Step::Tenths, unit: LengthUnit::Metric }
    }
}

/// Two standard errors above this many stops are shown beside a reading: half a tenth.
const SHOWN_ERROR_STOPS: f64 = 0.05;

impl TableStyle {
    /// `f/5.6 + 0.4`, or the name on a dial that goes by thirds, `f/6.3`.
    pub fn aperture(self, reading: Option<f64>) -> String {
        match (reading, self.step) {
            (None, _) => "none".into(),
            (Some(n), Step::Tenths) => fstop::reading(n, Step::Tenths),
            (Some(n), Step::Thirds) => fstop::marked(n),
        }
    }

    /// `+0.4`, `−1⅓`.
    pub fn stops(self, stops: Option<f64>) -> String {
        let Some(stops) = stops else { return "–".into() };
        match self.step {
            Step::Tenths => {
                let tenths = (stops * 10.0).round() / 10.0;
                let sign = if tenths > 0.0 {
                    "+"
                } else if tenths < 0.0 {
                    "−"
                } else {
                    ""
                };
                format!("{sign}{:.1}", tenths.abs())
            }
            Step::Thirds => {
                let thirds = (stops * 3.0).round() as i64;
                let sign = if thirds > 0 {
                    "+"
                } else if thirds < 0 {
                    "−"
                } else {
                    ""
                };
                let (whole, part) = (thirds.abs() / 3, thirds.abs() % 3);
                let part = ["", "⅓", "⅔"][part as usize];
                if whole == 0 && !part.is_empty() {
                    format!("{sign}{part}")
                } else {
                    format!("{sign}{whole}{part}")
                }
            }
        }
    }

    /// `2.60 m` to a centimetre, or `8ft 6in` to an inch.
    pub fn length(self, metres: f64) -> String {
        match self.unit {
            LengthUnit::Metric => format!("{metres:.2} m").replace('-', "−"),
            LengthUnit::Feet => {
                let inches = (metres.abs() / Length::feet(1.0).metres * 12.0).round() as i64;
                let sign = if metres < 0.0 && inches > 0 { "−" } else { "" };
                match (inches / 12, inches % 12) {
                    (0, inches) => format!("{sign}{inches}in"),
                    (feet, 0) => format!("{sign}{feet}ft"),
                    (feet, inches) => format!("{sign}{feet}ft {inches}in"),
                }
            }
        }
    }

    fn point(self, [x, y, z]: [f64; 3]) -> String {
        let [x, y, z] = [x, y, z].map(|metres| self.length(metres));
        match self.unit {
            LengthUnit::Metric => {
                let bare = |text: &str| text.trim_end_matches(" m").to_owned();
                format!("({}, {}, {}) m", bare(&x), bare(&y), bare(&z))
            }
            LengthUnit::Feet => format!("({x}, {y}, {z})"),
        }
    }
}

/// Decimals that leave `value` three digits, fewer where its error says so; below 0 for tens.
fn decimals(value: f64, relative_error: f64) -> i32 {
    // digits that the error leaves, one at least
    let known = (-(relative_error.max(1e-4)).log10()).ceil().clamp(1.0, 3.0);
    (known - 1.0 - value.log10().floor()) as i32
}

/// A part of `whole` that is known to `relative_error`, to the digits of the whole.
fn part(value: f64, whole: f64, relative_error: f64) -> String {
    if value <= 0.0 || whole <= 0.0 {
        return "–".into();
    }
    let decimals = decimals(whole, relative_error);
    let unit = 10f64.powi(-decimals);
    format!("{:.*}", decimals.max(0) as usize, (value / unit).round() * unit)
}

fn digits(value: f64, relative_error: f64) -> String {
    part(value, value, relative_error)
}

/// Aligned columns: the first to the left, the rest to the right, two blanks between.
pub fn columns(rows: &[Vec<String>]) -> String {
    let count = rows.iter().map(Vec::len).max().unwrap_or(0);
    let width = |column: usize| {
        rows.iter().filter_map(|row| row.get(column)).map(|t| t.chars().count()).max().unwrap_or(0)
    };
    let widths: Vec<usize> = (0..count).map(width).collect();
    let mut text = String::new();
    for row in rows {
        let mut line = String::new();
        for (column, cell) in row.iter().enumerate() {
            let blanks = " ".repeat(widths[column] - cell.chars().count());
            if column == 0 {
                line += &format!("{cell}{blanks}");
            } else {
                line += &format!("  {blanks}{cell}");
            }
        }
        text += line.trim_end();
        text.push('\n');
    }
    text
}

impl Readings {
    /// The table.
    pub fn table(&self, style: TableStyle) -> String {
        let name = self.at.name.as_deref().unwrap_or("point");
        let toward = match (self.receptor, self.toward.as_str()) {
            (_, "surface") => "flat receptor along the surface".into(),
            (receptor, "each light") => format!("{receptor} toward each light in turn"),
            (receptor, aim) => format!("{receptor} toward {aim}"),
        };
        let mut text = format!(
            "{name} at {}, {toward}; camera {}, {}, ISO {}\n\n",
            style.point(self.at.position_m),
            Aperture { f_number: self.aperture },
            Shutter { seconds: self.shutter_s },
            self.iso
        );
        text += &columns(&self.rows(style));
        if let (Some(key), Some(lit)) = (self.ratio.key_to_fill, self.ratio.lit_to_shadow) {
            text +=
                &format!("\nkey : fill {}   lit side : shadow side {}\n", to_one(key), to_one(lit));
        }
        for light in self.lights.iter().filter(|light| light.position_m != self.at.position_m) {
            text += &format!(
                "\n{} does not reach {name} past the sitter: it was read on the side it strikes, at {}\n",
                light.name,
                style.point(light.position_m)
            );
        }
        if let Some(spot) = &self.spot {
            text += &format!(
                "\nspot {}° from the camera reads {}; the tone falls {} from 18 % grey\n",
                spot.degrees,
                style.aperture(spot.f_number),
                style.stops(spot.stops_vs_middle_grey)
            );
            let rows: Vec<Vec<String>> = spot
                .lights
                .iter()
                .map(|one| vec![format!("  {}", one.name), style.stops(one.stops_vs_middle_grey)])
                .collect();
            text += &columns(&rows);
        }
        text
    }

    fn rows(&self, style: TableStyle) -> Vec<Vec<String>> {
        let error = |light: &LightReading| 2.0 * light.error_stops.unwrap_or(0.0);
        let unsettled = self.lights.iter().any(|light| error(light) >= SHOWN_ERROR_STOPS);
        let head = ["light", "away", "reads", "vs camera", "vs key", "direct", "bounced", ""];
        let mut rows = vec![head.map(str::to_owned).to_vec()];
        for light in &self.lights {
            // what a reading's error in stops is as a share of it
            let share = error(light).exp2() - 1.0;
            let mut row = vec![
                light.name.clone(),
                style.length(light.distance_m),
                style.aperture(light.f_number),
                style.stops(light.stops_vs_camera),
                style.stops(light.stops_vs_key),
                part(light.direct_lux_s, light.flash_lux_s, share),
                part(light.bounced_lux_s, light.flash_lux_s, share),
                "lx·s".into(),
            ];
            if unsettled && error(light) >= SHOWN_ERROR_STOPS {
                row.push(format!("±{:.1} stop", error(light).max(0.1)));
            }
            rows.push(row);
        }
        let plain = |name: &str, reading, versus| {
            vec![name.into(), String::new(), style.aperture(reading), style.stops(versus)]
        };
        let lux = |mut row: Vec<String>, lux: f64| {
            row.extend([String::new(), digits(lux, 0.0), String::new(), "lx".into()]);
            row
        };
        for one in &self.room {
            rows.push(lux(plain(&one.name, one.f_number, one.stops_vs_camera), one.lux));
        }
        if let Some(room) = self.ambient.as_ref().filter(|_| self.room.len() > 1) {
            rows.push(lux(plain("room in all", room.f_number, room.stops_vs_camera), room.lux));
        }
        // a dome that was turned for each light never saw them all at once
        let all = if self.toward == "each light" { "sum of these" } else { "all together" };
        rows.push(plain(all, self.total.f_number, self.total.stops_vs_camera));
        rows
    }
}

impl std::fmt::Display for Readings {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(&self.table(TableStyle::default()))
    }
}

fn to_one(ratio: f64) -> String {
    format!("{} : 1", digits(ratio, 0.05))
}

#[cfg(test)]
mod tests {
    use super::*;

    const THIRDS: TableStyle = TableStyle { step: Step::Thirds, unit: LengthUnit::Feet };

    #[test]
    fn steps_and_lengths() {
        let tenths = TableStyle::default();
        assert_eq!(tenths.aperture(Some(8.0)), "f/8");
        assert_eq!(tenths.aperture(Some(5.656_854 * 0.2f64.exp2())), "f/5.6 + 0.4");
        assert_eq!(THIRDS.aperture(Some(6.35)), "f/6.3");
        for (stops, by_tenths, by_thirds) in [
            (0.0, "0.0", "0"),
            (-0.04, "0.0", "0"),
            (0.32, "+0.3", "+⅓"),
            (-1.35, "−1.4", "−1⅓"),
            (2.98, "+3.0", "+3"),
            (-0.66, "−0.7", "−⅔"),
        ] {
            assert_eq!(tenths.stops(Some(stops)), by_tenths);
            assert_eq!(THIRDS.stops(Some(stops)), by_thirds);
        }
        assert_eq!(tenths.length(2.6), "2.60 m");
        assert_eq!(THIRDS.length(2.6), "8ft 6in");
        assert_eq!(THIRDS.length(0.3047), "1ft");
        assert_eq!(THIRDS.length(-0.076), "−3in");
        assert_eq!(tenths.length(-0.118), "−0.12 m");
    }

    #[test]
    fn digits_stop_where_knowledge_does() {
        for (value, error, shown) in [
            (159.98, 0.002, "160"),
            (18.3837, 0.002, "18.4"),
            (0.012_34, 0.002, "0.0123"),
            (1234.5, 0.002, "1230"),
            (18.3837, 0.2, "20"),
            (18.3837, 0.05, "18"),
            (0.0, 0.0, "–"),
        ] {
            assert_eq!(digits(value, error), shown, "{value} ± {error}");
        }
        assert_eq!(part(0.000_321, 5.79, 0.002), "0.00");
        assert_eq!(part(21.5, 1021.5, 0.002), "20");
    }

    #[test]
    fn columns_are_aligned() {
        let row = |cells: [&str; 3]| cells.map(str::to_owned).to_vec();
        let text = columns(&[row(["light", "reads", "vs"]), row(["key", "f/8 + 0.2", "−2.8"])]);
        assert_eq!(text, "light      reads    vs\nkey    f/8 + 0.2  −2.8\n");
    }
}
