//! A number with its unit as a field that is typed into: read, refused with a word, stepped.

use eframe::egui;
use egui::{Key, Modifiers, Response, TextEdit, Ui};
use serde::de::DeserializeOwned;

use super::edits::like;
use crate::plan::Length;

/// Reads what was typed in the plan's own spelling: a number, or a text with its unit.
pub fn read<T: DeserializeOwned>(typed: &str) -> Result<T, String> {
    let typed = typed.trim().replace('−', "-");
    let as_number = typed.parse::<f64>().ok().filter(|n| n.is_finite());
    if let Some(number) = as_number {
        // whole numbers also where the field counts
        let whole = number.fract() == 0.0 && number.abs() < 1e15;
        let value =
            if whole { serde_json::json!(number as i64) } else { serde_json::json!(number) };
        if let Ok(read) = serde_json::from_value(value) {
            return Ok(read);
        }
    }
    serde_json::from_value(serde_json::Value::String(typed.clone())).map_err(|error| {
        let text = error.to_string();
        match text.contains("invalid type") {
            true => format!("\"{typed}\" is no number"),
            false => text,
        }
    })
}

/// Reads degrees, kelvin, millimetres and plain numbers, with or without their sign.
pub fn read_plain(typed: &str) -> Result<f64, String> {
    let bare = typed.trim().trim_end_matches(|c: char| c.is_alphabetic() || "°%².·".contains(c));
    read(bare.trim_end())
}

/// Reads a length; a bare number is in the unit that the window shows.
pub fn read_length(typed: &str, feet: bool) -> Result<Length, String> {
    match typed.trim().parse::<f64>() {
        Ok(number) if feet && number.is_finite() => Ok(Length::feet(number)),
        _ => read(typed),
    }
}

/// A length as the window shows it.
pub fn show_length(length: &Length, feet: bool) -> String {
    show_metres(length.metres, feet)
}

/// Metres to the centimetre, or feet and half inches.
pub fn show_metres(metres: f64, feet: bool) -> String {
    if !feet {
        let text = format!("{metres:.3}");
        let text = text.trim_end_matches('0').trim_end_matches('.').replace('-', "−");
        return format!("{} m", if text == "−0" { "0" } else { &text });
    }
    let sign = if metres < 0.0 { "−" } else { "" };
    let halves = (metres.abs() / 0.3048 * 24.0).round();
    let (whole, rest) = ((halves / 24.0).floor(), halves.rem_euclid(24.0) / 2.0);
    match (whole > 0.0, rest > 0.0) {
        (true, true) => format!("{sign}{whole} ft {rest} in"),
        (false, true) => format!("{sign}{rest} in"),
        _ => format!("{sign}{whole} ft"),
    }
}

/// A plain number with few decimals.
pub fn show_plain(value: f64, unit: &str) -> String {
    let text = format!("{value:.2}");
    let text = text.trim_end_matches('0').trim_end_matches('.').replace('-', "−");
    let text = if text == "−0" { "0" } else { &text };
    format!("{text}{unit}")
}

/// A length nudged by so many steps of 5 cm or 2 in.
pub fn step_length(length: &Length, steps: f64, feet: bool) -> Length {
    let by = if feet { 0.0508 } else { 0.05 } * steps;
    let next = ((length.metres + by) * 1e6).round() / 1e6;
    like(length, next)
}

/// What a field gave.
#[derive(Debug, Clone, PartialEq)]
pub enum Entered {
    /// Nothing.
    Nothing,
    /// A text to be read.
    Typed(String),
    /// So many steps up (+) or down, by the arrow keys or the wheel.
    Stepped(f64),
}

/// One row: a label, and a field that is named after it for screen readers and tests. Typing and
/// Enter, or leaving the field, gives the text; Escape leaves it as it was; the arrow keys step.
pub fn row(ui: &mut Ui, owner: &str, label: &str, value: &str, hint: &str) -> (Entered, Response) {
    let mut out = Entered::Nothing;
    let response = ui
        .horizontal(|ui| {
            let width = 84.0;
            let height = ui.spacing().interact_size.y;
            ui.allocate_ui_with_layout(
                egui::vec2(width, height),
                egui::Layout::left_to_right(egui::Align::Center),
                |ui| {
                    ui.set_min_width(width);
                    ui.add(egui::Label::new(label).truncate());
                },
            );
            let name = format!("{owner} {}", label.to_lowercase());
            let id = ui.make_persistent_id(("entry", &name));
            let buffer = id.with("buffer");
            let had_focus = ui.memory(|memory| memory.has_focus(id));
            let mut text = match had_focus {
                true => ui.data(|data| data.get_temp::<String>(buffer)).unwrap_or(value.to_owned()),
                false => value.to_owned(),
            };
            let (up, down, wide) = match had_focus {
                true => ui.input_mut(|input| {
                    let wide = input.modifiers.shift;
                    let mut pressed = |key| {
                        input.consume_key(Modifiers::NONE, key)
                            || input.consume_key(Modifiers::SHIFT, key)
                    };
                    (pressed(Key::ArrowUp), pressed(Key::ArrowDown), wide)
                }),
                false => (false, false, false),
            };
            let field = TextEdit::singleline(&mut text)
                .id(id)
                .desired_width(ui.available_width().max(40.0))
                .clip_text(true);
            let response = ui.add(field);
            let accessible = name.clone();
            response.widget_info(|| {
                let mut info = egui::WidgetInfo::labeled(egui::Role::TextInput, true, &accessible);
                info.current_text_value = Some(text.clone());
                info
            });
            if response.gained_focus() {
                // all of it, so that typing replaces it
                select_all(ui, id, text.chars().count());
            }
            let escaped = ui.input(|input| input.key_pressed(Key::Escape));
            if up || down {
                let steps = if up { 1.0 } else { -1.0 };
                out = Entered::Stepped(if wide { 3.0 * steps } else { steps });
                ui.data_mut(|data| data.remove::<String>(buffer));
            } else if response.has_focus() && response.changed() {
                ui.data_mut(|data| data.insert_temp(buffer, text.clone()));
            }
            if response.lost_focus() {
                if text != value && !escaped {
                    out = Entered::Typed(text);
                }
                ui.data_mut(|data| data.remove::<String>(buffer));
            }
            if hint.is_empty() { response } else { response.on_hover_text(hint) }
        })
        .inner;
    (out, response)
}

fn select_all(ui: &Ui, id: egui::Id, length: usize) {
    use egui::text::{CCursor, CCursorRange};
    if let Some(mut state) = egui::text_edit::TextEditState::load(ui.ctx(), id) {
        state.cursor.set_char_range(Some(CCursorRange::two(CCursor::new(0), CCursor::new(length))));
        state.store(ui.ctx(), id);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plan::{Aperture, Power, Shutter};

    #[test]
    fn numbers_are_read_with_their_units() {
        assert_eq!(read::<Power>("1/8").unwrap().stops, -3.0);
        assert!((read::<Power>("−2 1/3").unwrap().stops + 7.0 / 3.0).abs() < 1e-12);
        assert_eq!(read::<Aperture>("f/5.6").unwrap().f_number, 5.6);
        assert_eq!(read::<Shutter>("1/125").unwrap().seconds, 1.0 / 125.0);
        assert!((read_length("5 ft", false).unwrap().metres - 1.524).abs() < 1e-9);
        assert!((read_length("5", true).unwrap().metres - 1.524).abs() < 1e-9);
        assert_eq!(read_length("5", false).unwrap().metres, 5.0);
        assert_eq!(read_plain("−35°").unwrap(), -35.0);
        assert_eq!(read_plain("5600 K").unwrap(), 5600.0);
        for wrong in ["", "far", "50%", "nan", "1e999"] {
            assert!(read::<Power>(wrong).is_err(), "{wrong}");
            assert!(read_length(wrong, true).is_err(), "{wrong}");
        }
    }

    #[test]
    fn lengths_are_shown_in_the_unit_that_is_liked() {
        assert_eq!(show_metres(1.8, false), "1.8 m");
        assert_eq!(show_metres(-0.0001, false), "0 m");
        assert_eq!(show_metres(1.524, true), "5 ft");
        assert_eq!(show_metres(1.5748, true), "5 ft 2 in");
        assert_eq!(show_metres(-0.1, true), "−4 in");
        for metres in [0.5, 1.23, 2.75] {
            let read = read_length(&show_metres(metres, true), true).unwrap();
            assert!((read.metres - metres).abs() < 0.007, "{metres}: {read:?}");
        }
    }
}
