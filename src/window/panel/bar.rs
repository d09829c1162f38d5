//! The bar: menus of every act, the views, and how far the picture is.

use eframe::egui;
use egui::{Button, MenuBar, RichText, Ui};

use super::dialog::{Dialog, Then};
use crate::plan::shipped;
use crate::window::act::{self, Act, View};
use crate::window::app::App;
use crate::window::edits::{Pick, Put};
use crate::window::engine::{Overlay, Status};
use crate::window::frames::Compare;
use crate::window::theme;

/// An act as a menu's line with its keys.
fn item(app: &mut App, ui: &mut Ui, act: Act, enabled: bool) {
    let mut button = Button::new(act::words(act)).wrap_mode(egui::TextWrapMode::Extend);
    if let Some(keys) = act::keys(act) {
        button = button.shortcut_text(ui.ctx().format_shortcut(&keys));
    }
    if ui.add_enabled(enabled, button).clicked() {
        app.act(act);
        ui.close();
    }
}

fn items(app: &mut App, ui: &mut Ui, acts: &[Act]) {
    for act in acts {
        item(app, ui, *act, true);
    }
}

pub fn show(app: &mut App, ui: &mut Ui) {
    MenuBar::new().ui(ui, |ui| {
        ui.menu_button("Plan", |ui| {
            items(app, ui, &[Act::New, Act::Open]);
            ui.menu_button("Shipped plans", |ui| {
                for shipped in shipped::SHIPPED {
                    if ui.button(shipped.name).on_hover_text(shipped.teaches()).clicked() {
                        app.leaving(Then::Shipped(shipped.name.into()));
                        ui.close();
                    }
                }
            });
            let recent = app.preferences.recent.clone();
            ui.add_enabled_ui(!recent.is_empty(), |ui| {
                ui.menu_button("Recent plans", |ui| {
                    for path in recent {
                        let name = path.file_name().unwrap_or(path.as_os_str()).to_string_lossy();
                        let button = ui.button(name).on_hover_text(path.display().to_string());
                        if button.clicked() {
                            app.leaving(Then::Open(path));
                            ui.close();
                        }
                    }
                });
            });
            ui.separator();
            items(app, ui, &[Act::Save, Act::SaveAs]);
            ui.separator();
            items(app, ui, &[Act::Quit]);
        });
        ui.menu_button("Edit", |ui| {
            let (undo, redo) =
                (app.document().undo_what().is_some(), app.document().redo_what().is_some());
            item(app, ui, Act::Undo, undo);
            item(app, ui, Act::Redo, redo);
            ui.separator();
            let light = matches!(app.pick, Pick::Light(_));
            item(app, ui, Act::Switch, light);
            items(app, ui, &[Act::Duplicate, Act::Mirror, Act::Lock, Act::Remove]);
        });
        ui.menu_button("Set up", |ui| {
            for (what, name) in Put::ALL {
                if ui.button(name).clicked() {
                    app.act(Act::Put(what));
                    ui.close();
                }
            }
        });
        ui.menu_button("Look", |ui| {
            items(
                app,
                ui,
                &[Act::View(View::Picture), Act::View(View::Set), Act::View(View::Both)],
            );
            ui.separator();
            let overlays = [Overlay::None, Overlay::Stops, Overlay::Clipping].map(Act::Overlay);
            items(app, ui, &overlays);
            items(app, ui, &[Act::Grid, Act::Meter]);
            ui.separator();
            items(app, ui, &[Act::All, Act::RoomAlone, Act::Play]);
            ui.separator();
            items(app, ui, &[Act::Theme, Act::Units]);
        });
        ui.menu_button("Compare", |ui| {
            items(app, ui, &[Act::Keep, Act::Comparing]);
            let ways = [Compare::Beside, Compare::Wipe, Compare::Over, Compare::Difference];
            items(app, ui, &ways.map(Act::Compare));
            ui.separator();
            items(app, ui, &[Act::Reference]);
        });
        ui.menu_button("Make", |ui| {
            items(
                app,
                ui,
                &[Act::MakeStill, Act::MakeSeries, Act::MakeSheet, Act::MakeMap, Act::MakeExport],
            );
            ui.separator();
            items(app, ui, &[Act::Balance]);
        });
        ui.menu_button("Help", |ui| {
            items(app, ui, &[Act::Keys]);
            if ui.button("First steps").clicked() {
                app.dialog = Some(Dialog::FirstSteps);
                ui.close();
            }
        });
        ui.separator();
        for (view, name) in [(View::Picture, "Picture"), (View::Set, "Set"), (View::Both, "Both")] {
            if ui.selectable_label(app.view == view, name).clicked() {
                app.act(Act::View(view));
            }
        }
        ui.separator();
        if ui
            .selectable_label(app.metering, "Meter")
            .on_hover_text("Read where you point (M)")
            .clicked()
        {
            app.act(Act::Meter);
        }
        let stops = app.overlay == Overlay::Stops;
        if ui.selectable_label(stops, "Stops").on_hover_text("Map of stops (O)").clicked() {
            app.act(Act::Overlay(Overlay::Stops));
        }
        let clipping = app.overlay == Overlay::Clipping;
        if ui
            .selectable_label(clipping, "Clipping")
            .on_hover_text("What is lost, hatched (C)")
            .clicked()
        {
            app.act(Act::Overlay(Overlay::Clipping));
        }
        let keep = ui.button("Keep").on_hover_text("Keep this frame with its plan (K)");
        if keep.clicked() {
            app.act(Act::Keep);
        }
        ui.with_layout(egui::Layout::right_to_left(egui::Align::Center), |ui| status(app, ui));
    });
}

/// How far the picture is, in words.
fn status(app: &App, ui: &mut Ui) {
    let dark = app.is_dark();
    let (text, ink) = match app.status() {
        Status::Idle => (String::new(), None),
        Status::Building => ("building the set".into(), None),
        Status::Settling { done, error_stops, stale } => {
            let stale = match stale.as_slice() {
                [] => String::new(),
                [one] => format!(", {one} to come"),
                many => format!(", {} lights to come", many.len()),
            };
            let error = match error_stops.is_finite() {
                true => format!(" ±{error_stops:.2} stop"),
                false => String::new(),
            };
            (format!("settling {:.0} %{error}{stale}", 100.0 * done), None)
        }
        Status::Settled { error_stops } if error_stops.is_finite() => {
            (format!("settled ±{error_stops:.2} stop"), Some(theme::good(dark)))
        }
        Status::Settled { .. } => ("settled".into(), Some(theme::good(dark))),
        Status::Dark => ("nothing is lit".into(), Some(theme::warning(dark))),
        Status::Fault(_) => ("this cannot stand".into(), Some(theme::wrong(dark))),
    };
    let text = RichText::new(text);
    ui.add(
        egui::Label::new(match ink {
            Some(ink) => text.color(ink),
            None => text.weak(),
        })
        .truncate(),
    );
}
