//! The list: every light with its switch, itself alone and its power; then all else of the set.

use eframe::egui;
use egui::{RichText, Sense, Ui};

use super::glyph;
use crate::window::act::Act;
use crate::window::app::App;
use crate::window::edits::{Pick, Put};
use crate::window::theme;

pub fn show(app: &mut App, ui: &mut Ui) {
    egui::ScrollArea::vertical().auto_shrink(false).show(ui, |ui| {
        ui.horizontal(|ui| {
            ui.strong("Lights");
            ui.with_layout(egui::Layout::right_to_left(egui::Align::Center), |ui| {
                ui.menu_button("+ Put up", |ui| {
                    for (what, name) in Put::ALL {
                        if ui.button(name).clicked() {
                            app.act(Act::Put(what));
                            ui.close();
                        }
                    }
                });
            });
        });
        let plan = app.plan().clone();
        for (number, light) in plan.lights.iter().enumerate() {
            row(app, ui, number, light);
        }
        if plan.lights.is_empty() {
            ui.label(RichText::new("No light yet. Put up a key light to begin.").weak());
        }
        let room = app.room_lights();
        if !room.is_empty() {
            ui.horizontal(|ui| {
                let (rect, _) = ui.allocate_exact_size(egui::vec2(16.0, 20.0), Sense::hover());
                let ink = ui.visuals().text_color();
                ui.painter().circle_stroke(rect.center(), 5.0, egui::Stroke::new(1.5, ink));
                let picked = app.pick == Pick::Room;
                if ui.selectable_label(picked, "room").on_hover_text(room.join(", ")).clicked() {
                    app.pick = Pick::Room;
                }
                ui.with_layout(egui::Layout::right_to_left(egui::Align::Center), |ui| {
                    let alone = app.only.as_ref() == Some(&room);
                    if named(ui, ui_label(alone, "alone"), "room alone", alone).clicked() {
                        app.alone(room.clone());
                    }
                });
            });
        }
        ui.horizontal(|ui| {
            if ui.add_enabled(app.only.is_some(), egui::Button::new("All")).clicked() {
                app.act(Act::All);
            }
            let playing = app.play.is_some();
            let name = if playing { "Stop series" } else { "Play series" };
            if ui
                .button(name)
                .on_hover_text("Room alone, weakest light alone, then the others added (P)")
                .clicked()
            {
                app.act(Act::Play);
            }
        });
        if let Some(only) = &app.only {
            let names: Vec<&str> = only.iter().map(String::as_str).collect();
            let text = format!("seen: {}", names.join(" + "));
            ui.label(RichText::new(text).color(theme::warning(app.is_dark())));
        }
        ui.separator();
        ui.strong("Set");
        let mut things = vec![(Pick::Camera, "camera".to_owned())];
        things.extend(plan.sitter.iter().map(|_| (Pick::Sitter, "sitter".to_owned())));
        things.extend(
            plan.cloths.iter().map(|one| (Pick::Cloth(one.name.clone()), one.name.clone())),
        );
        things.extend(plan.boxes.iter().map(|one| (Pick::Box(one.name.clone()), one.name.clone())));
        things.extend(
            plan.boards.iter().map(|one| (Pick::Board(one.name.clone()), one.name.clone())),
        );
        things.push((Pick::Room, "room".into()));
        things.push((Pick::Development, "development".into()));
        for (pick, name) in things {
            let locked = if app.locked.contains(&pick) { "  (locked)" } else { "" };
            let label = ui.selectable_label(app.pick == pick, format!("{name}{locked}"));
            if label.clicked() {
                app.pick = pick;
            }
        }
    });
}

fn ui_label(selected: bool, text: &str) -> RichText {
    if selected { RichText::new(text).strong() } else { RichText::new(text) }
}

/// A small toggle with a name of its own for screen readers.
fn named(ui: &mut Ui, text: RichText, name: &str, selected: bool) -> egui::Response {
    let response = ui.selectable_label(selected, text.small());
    let name = name.to_owned();
    response
        .widget_info(move || egui::WidgetInfo::selected(egui::Role::Button, true, selected, &name));
    response
}

fn row(app: &mut App, ui: &mut Ui, number: usize, light: &crate::plan::Light) {
    let dark = app.is_dark();
    let pick = Pick::Light(light.name.clone());
    ui.horizontal(|ui| {
        let (rect, sign) = ui.allocate_exact_size(egui::vec2(16.0, 20.0), Sense::click());
        glyph::light(ui.painter(), rect.center(), 6.0, number, light.on, dark);
        sign.widget_info(|| {
            let name = format!("{} on", light.name);
            egui::WidgetInfo::selected(egui::Role::CheckBox, true, light.on, name)
        });
        let turn = if light.on { "off" } else { "on" };
        if sign.on_hover_text(format!("Switch {} {turn} (Space)", light.name)).clicked() {
            app.switch_light(&light.name);
        }
        let mut name = RichText::new(&light.name);
        if !light.on {
            name = name.weak().strikethrough();
        }
        let locked = if app.locked.contains(&pick) { " (locked)" } else { "" };
        ui.with_layout(egui::Layout::right_to_left(egui::Align::Center), |ui| {
            let only = vec![light.name.clone()];
            let alone = app.only.as_ref() == Some(&only);
            let key = if number < 8 { format!(" ({})", number + 1) } else { String::new() };
            let button =
                named(ui, ui_label(alone, "alone"), &format!("{} alone", light.name), alone);
            if button.on_hover_text(format!("See {} alone{key}", light.name)).clicked() {
                app.alone(only);
            }
            ui.with_layout(egui::Layout::left_to_right(egui::Align::Center), |ui| {
                let name = name.append_text(locked);
                let label = egui::Button::selectable(app.pick == pick, name).truncate();
                if ui.add(label).clicked() {
                    app.pick = pick.clone();
                }
            });
        });
    });
    ui.horizontal(|ui| {
        ui.add_space(22.0);
        for (text, by, word) in [("−", -1.0, "less"), ("+", 1.0, "more")] {
            let button = ui.small_button(text);
            let label = format!("{} a third {word}", light.name);
            button.widget_info(|| egui::WidgetInfo::labeled(egui::Role::Button, true, &label));
            if button.on_hover_text(format!("A third of a stop {word}")).clicked() {
                app.turn_power_of(&light.name, by / 3.0, None);
            }
        }
        ui.add(egui::Label::new(RichText::new(light.power.display()).weak()).truncate());
    });
}

trait AppendText {
    fn append_text(self, text: &str) -> RichText;
}

impl AppendText for RichText {
    fn append_text(self, text: &str) -> RichText {
        if text.is_empty() { self } else { RichText::new(format!("{}{text}", self.text())) }
    }
}
