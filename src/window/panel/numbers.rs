//! What is picked and its numbers.

use eframe::egui;
use egui::{RichText, Ui};
use serde::de::DeserializeOwned;

use super::{histogram, numbers_light, numbers_set};
use crate::plan::{Length, Plan};
use crate::window::act::Act;
use crate::window::app::App;
use crate::window::edits::Pick;
use crate::window::entry::{self, Entered};

pub fn show(app: &mut App, ui: &mut Ui) {
    egui::Panel::bottom("histogram")
        .resizable(false)
        .frame(egui::Frame::NONE)
        .show(ui, |ui| histogram::show(app, ui));
    egui::ScrollArea::vertical().auto_shrink(false).show(ui, |ui| {
        ui.horizontal(|ui| {
            let label = app.pick.label();
            ui.add(egui::Label::new(RichText::new(label).heading()).truncate());
        });
        if !matches!(app.pick, Pick::Camera | Pick::Room | Pick::Development) {
            ui.horizontal_wrapped(|ui| {
                for (act, name) in [
                    (Act::Duplicate, "Duplicate"),
                    (Act::Mirror, "Mirror"),
                    (Act::Lock, "Lock"),
                    (Act::Remove, "Take away"),
                ] {
                    let fixed =
                        matches!(app.pick, Pick::Sitter | Pick::Cloth(_)) && act == Act::Duplicate;
                    let on = act == Act::Lock && app.locked.contains(&app.pick);
                    if !fixed && ui.selectable_label(on, RichText::new(name).small()).clicked() {
                        app.act(act);
                    }
                }
            });
        }
        match app.pick.clone() {
            Pick::Light(name) => numbers_light::light(app, ui, &name),
            Pick::Board(name) => numbers_light::board(app, ui, &name),
            Pick::Camera => numbers_set::camera(app, ui),
            Pick::Sitter => numbers_set::sitter(app, ui),
            Pick::Cloth(name) => numbers_set::cloth(app, ui, &name),
            Pick::Box(name) => numbers_set::set_box(app, ui, &name),
            Pick::Room => numbers_set::room(app, ui),
            Pick::Development => numbers_set::development(app, ui),
        }
    });
}

/// A number with a unit of its own type: power, aperture, shutter.
pub fn typed<T: DeserializeOwned>(
    app: &mut App,
    ui: &mut Ui,
    label: &str,
    shown: &str,
    step: impl Fn(f64) -> T,
    put: impl FnOnce(&mut Plan, T),
) {
    let owner = app.pick.label();
    let what = format!("{owner} {}", label.to_lowercase());
    match entry::row(ui, &owner, label, shown, "").0 {
        Entered::Nothing => {}
        Entered::Stepped(steps) => app.edit(&what, Some(&what), |plan| put(plan, step(steps))),
        Entered::Typed(text) => {
            // what is shown beside the number is no part of it
            let text = text.split(" (").next().unwrap_or(&text);
            match entry::read(text) {
                Ok(value) => app.edit(&what, None, |plan| put(plan, value)),
                Err(problem) => app.say_wrong(problem.replace('\n', ": ")),
            }
        }
    }
}

/// A length.
pub fn length(
    app: &mut App,
    ui: &mut Ui,
    label: &str,
    value: &Length,
    put: impl FnOnce(&mut Plan, Length),
) {
    let (owner, feet) = (app.pick.label(), app.preferences.feet);
    let what = format!("{owner} {}", label.to_lowercase());
    match entry::row(ui, &owner, label, &entry::show_length(value, feet), "").0 {
        Entered::Nothing => {}
        Entered::Stepped(steps) => {
            app.edit(&what, Some(&what), |plan| put(plan, entry::step_length(value, steps, feet)));
        }
        Entered::Typed(text) => match entry::read_length(&text, feet) {
            Ok(value) => app.edit(&what, None, |plan| put(plan, value)),
            Err(problem) => app.say_wrong(problem.replace('\n', ": ")),
        },
    }
}

/// A plain number with its sign behind it.
pub fn plain(
    app: &mut App,
    ui: &mut Ui,
    label: &str,
    (value, unit, step): (f64, &str, f64),
    put: impl FnOnce(&mut Plan, f64),
) {
    let owner = app.pick.label();
    let what = format!("{owner} {}", label.to_lowercase());
    match entry::row(ui, &owner, label, &entry::show_plain(value, unit), "").0 {
        Entered::Nothing => {}
        Entered::Stepped(steps) => {
            let next = ((value + steps * step) * 1e6).round() / 1e6;
            app.edit(&what, Some(&what), |plan| put(plan, next));
        }
        Entered::Typed(text) => match entry::read_plain(&text) {
            Ok(value) => app.edit(&what, None, |plan| put(plan, value)),
            Err(problem) => app.say_wrong(problem),
        },
    }
}

/// A text.
pub fn text(
    app: &mut App,
    ui: &mut Ui,
    label: &str,
    value: &str,
    put: impl FnOnce(&mut Plan, String),
) {
    let owner = app.pick.label();
    if let Entered::Typed(text) = entry::row(ui, &owner, label, value, "").0 {
        app.edit(&format!("{owner} {}", label.to_lowercase()), None, |plan| put(plan, text));
    }
}

/// One of several.
pub fn choice<T: PartialEq + Clone>(
    app: &mut App,
    ui: &mut Ui,
    label: &str,
    value: &T,
    options: &[(T, &str)],
    put: impl FnOnce(&mut Plan, T),
) {
    let owner = app.pick.label();
    let name = options.iter().find(|(one, _)| one == value).map_or("other", |(_, name)| name);
    let mut chosen = None;
    ui.horizontal(|ui| {
        ui.allocate_ui_with_layout(
            egui::vec2(84.0, ui.spacing().interact_size.y),
            egui::Layout::left_to_right(egui::Align::Center),
            |ui| {
                ui.set_min_width(84.0);
                ui.add(egui::Label::new(label).truncate());
            },
        );
        let id = ui.make_persistent_id((&owner, label));
        let combo = egui::ComboBox::from_id_salt(id)
            .selected_text(name)
            .width(ui.available_width() - 8.0)
            .show_ui(ui, |ui| {
                for (one, name) in options {
                    if ui.selectable_label(one == value, *name).clicked() && one != value {
                        chosen = Some(one.clone());
                    }
                }
            });
        let spoken = format!("{owner} {}", label.to_lowercase());
        combo.response.widget_info(|| {
            let mut info = egui::WidgetInfo::labeled(egui::Role::ComboBox, true, &spoken);
            info.current_text_value = Some(name.to_owned());
            info
        });
    });
    if let Some(chosen) = chosen {
        app.edit(&format!("{owner} {}", label.to_lowercase()), None, |plan| put(plan, chosen));
    }
}

/// Yes or no.
pub fn flag(
    app: &mut App,
    ui: &mut Ui,
    label: &str,
    value: bool,
    put: impl FnOnce(&mut Plan, bool),
) {
    let mut now = value;
    if ui.checkbox(&mut now, label).changed() {
        let owner = app.pick.label();
        app.edit(&format!("{owner} {}", label.to_lowercase()), None, |plan| put(plan, now));
    }
}
