//! Questions and lists that lie over the window.

use std::path::{Path, PathBuf};
use std::sync::Arc;

use eframe::egui;
use egui::{Id, Key, Modal, RichText, ScrollArea, Ui};

use crate::optics::fstop;
use crate::plan::Plan;
use crate::shoot::Severity;
use crate::shoot::balance::{Base, Subject, Wish};
use crate::shoot::{BalanceOptions, DomeAim, MeterPoint};
use crate::window::act;
use crate::window::app::App;
use crate::window::jobs::{self, Make};
use crate::window::memory::Unsaved;
use crate::window::theme;

/// What comes after the plan is left.
#[derive(Debug, Clone)]
pub enum Then {
    /// An empty plan.
    New,
    /// Another file.
    Open(PathBuf),
    /// A shipped plan.
    Shipped(String),
    /// The end.
    Quit,
}

/// What a file is asked for.
#[derive(Debug, Clone, PartialEq)]
pub enum Purpose {
    Open,
    Save,
    Reference,
    Make(Make),
}

/// A file that is being chosen.
#[derive(Debug, Clone)]
pub struct Choosing {
    purpose: Purpose,
    folder: PathBuf,
    typed: String,
    fresh: bool,
}

/// What lies over the window.
pub enum Dialog {
    File(Choosing),
    Unsaved { then: Then },
    Conflict(Arc<Plan>),
    Recover(Vec<Unsaved>),
    Balance(Vec<(String, String)>),
    Message { title: String, text: String },
    Notes,
    Keys,
    FirstSteps,
}

impl Dialog {
    fn choosing(app: &App, purpose: Purpose, typed: String) -> Self {
        let own =
            app.document().path.as_deref().map(|path| crate::files::folder_of(path).to_owned());
        let recent =
            app.preferences.recent.first().and_then(|path| path.parent()).map(Path::to_owned);
        let folder = own.or(recent).or(std::env::current_dir().ok()).unwrap_or_default();
        let folder = folder.canonicalize().unwrap_or(folder);
        Self::File(Choosing { purpose, folder, typed, fresh: true })
    }

    pub fn open(app: &App) -> Self {
        Self::choosing(app, Purpose::Open, String::new())
    }

    pub fn save(app: &App) -> Self {
        Self::choosing(app, Purpose::Save, format!("{}.ron", app.document().name()))
    }

    pub fn reference(app: &App) -> Self {
        Self::choosing(app, Purpose::Reference, String::new())
    }

    pub fn make(app: &App, make: Make) -> Self {
        let name = make.file_name(&app.document().name());
        Self::choosing(app, Purpose::Make(make), name)
    }

    pub fn balance(app: &App) -> Self {
        let lights = app.plan().lights.iter().filter(|light| light.on);
        Self::Balance(lights.map(|light| (light.name.clone(), String::new())).collect())
    }
}

pub fn show(app: &mut App, ui: &mut Ui) {
    let Some(dialog) = app.dialog.take() else { return };
    let modal = Modal::new(Id::unique("dialog"));
    let mut next = None;
    let response = modal.show(ui.ctx(), |ui| {
        ui.set_max_width(560.0);
        next = match dialog {
            Dialog::File(choosing) => file(app, ui, choosing),
            Dialog::Unsaved { then } => unsaved(app, ui, then),
            Dialog::Conflict(plan) => conflict(app, ui, plan),
            Dialog::Recover(left) => recover(app, ui, left),
            Dialog::Balance(wishes) => balance(app, ui, wishes),
            Dialog::Message { title, text } => {
                ui.heading(&title);
                ui.add(egui::Label::new(RichText::new(&text).monospace()).wrap());
                (!ui.button("Close").clicked()).then_some(Dialog::Message { title, text })
            }
            Dialog::Notes => notes(app, ui),
            Dialog::Keys => keys(ui),
            Dialog::FirstSteps => first_steps(ui),
        };
    });
    // questions about work are answered, the rest may be left
    let may_leave = !matches!(next, Some(Dialog::Conflict(_) | Dialog::Recover(_)));
    let left = response.should_close() || ui.input(|input| input.key_pressed(Key::Escape));
    if !(left && may_leave) && app.dialog.is_none() {
        app.dialog = next;
    }
}

// -------- files

/// Folders and fitting files of a folder, by name.
fn entries(folder: &Path, purpose: &Purpose) -> Vec<(String, PathBuf, bool)> {
    let endings: &[&str] = match purpose {
        Purpose::Open => &["ron", "png", "jpg", "jpeg", "tif", "tiff"],
        Purpose::Save => &["ron"],
        Purpose::Reference => &["png", "jpg", "jpeg", "tif", "tiff"],
        Purpose::Make(_) => &["png", "jpg", "jpeg", "tif", "tiff", "exr", "pdf", "svg"],
    };
    let Ok(read) = std::fs::read_dir(folder) else { return Vec::new() };
    let mut found: Vec<(String, PathBuf, bool)> = read
        .flatten()
        .filter_map(|entry| {
            let path = entry.path();
            let name = entry.file_name().to_string_lossy().into_owned();
            let is_folder = path.is_dir();
            let fits = path
                .extension()
                .is_some_and(|e| endings.contains(&e.to_string_lossy().to_lowercase().as_str()));
            (!name.starts_with('.') && (is_folder || fits)).then_some((name, path, is_folder))
        })
        .collect();
    found.sort_by_key(|(name, _, is_folder)| (!is_folder, name.to_lowercase()));
    found
}

fn file(app: &mut App, ui: &mut Ui, mut choosing: Choosing) -> Option<Dialog> {
    let (title, verb) = match &choosing.purpose {
        Purpose::Open => ("Open a plan, or a still that carries one".to_owned(), "Open"),
        Purpose::Save => ("Save the plan".to_owned(), "Save"),
        Purpose::Reference => ("Reference picture".to_owned(), "Load"),
        Purpose::Make(make) => (make.title().to_owned(), "Make"),
    };
    ui.heading(title);
    let mut accepted = false;
    ui.horizontal(|ui| {
        if ui.button("Up").on_hover_text("The folder above").clicked()
            && let Some(parent) = choosing.folder.parent()
        {
            choosing.folder = parent.to_owned();
        }
        ui.add(egui::Label::new(choosing.folder.display().to_string()).truncate());
    });
    let found = entries(&choosing.folder, &choosing.purpose);
    ScrollArea::vertical().max_height(240.0).auto_shrink([false, true]).show(ui, |ui| {
        ui.set_min_width(520.0);
        for (name, path, is_folder) in &found {
            let shown = if *is_folder { format!("{name}/") } else { name.clone() };
            let response = ui.selectable_label(*name == choosing.typed, shown);
            if response.clicked() {
                match is_folder {
                    true => choosing.folder.clone_from(path),
                    false => choosing.typed.clone_from(name),
                }
            }
            accepted |= response.double_clicked() && !is_folder;
        }
        if found.is_empty() {
            ui.weak("nothing here that fits");
        }
    });
    ui.horizontal(|ui| {
        let label = ui.label("File");
        let field =
            egui::TextEdit::singleline(&mut choosing.typed).desired_width(ui.available_width());
        let response = ui.add(field).labelled_by(label.id);
        if choosing.fresh {
            response.request_focus();
            choosing.fresh = false;
        }
        accepted |= response.lost_focus() && ui.input(|input| input.key_pressed(Key::Enter));
    });
    let path = choosing.folder.join(choosing.typed.trim());
    if let Purpose::Make(Make::Still { long_side, within_stops }) = &mut choosing.purpose {
        ui.horizontal(|ui| {
            ui.label("Long side");
            for side in [480, 960, 1920] {
                if ui.selectable_label(*long_side == side, format!("{side}")).clicked() {
                    *long_side = side;
                }
            }
            ui.separator();
            ui.label("within");
            for (stops, name) in
                [(0.15, "0.15 stop, quick"), (0.05, "0.05 stop"), (0.02, "0.02 stop, long")]
            {
                if ui.selectable_label(*within_stops == stops, name).clicked() {
                    *within_stops = stops;
                }
            }
        });
    }
    let there = path.is_file() && matches!(choosing.purpose, Purpose::Save | Purpose::Make(_));
    if there {
        ui.label(
            RichText::new("This file is there; it will be replaced.")
                .color(theme::warning(app.is_dark())),
        );
    }
    let mut cancelled = false;
    ui.horizontal(|ui| {
        let named = !choosing.typed.trim().is_empty();
        accepted |= ui.add_enabled(named, egui::Button::new(verb)).clicked();
        cancelled = ui.button("Cancel").clicked();
    });
    if cancelled {
        return None;
    }
    if !accepted || choosing.typed.trim().is_empty() {
        return Some(Dialog::File(choosing));
    }
    if path.is_dir() && !matches!(choosing.purpose, Purpose::Make(Make::Series | Make::Export)) {
        choosing.folder = path;
        choosing.typed.clear();
        return Some(Dialog::File(choosing));
    }
    match choosing.purpose {
        Purpose::Open => app.leaving(Then::Open(path)),
        Purpose::Save => {
            let path = if path.extension().is_none() { path.with_extension("ron") } else { path };
            app.save_to(&path);
        }
        Purpose::Reference => app.load_reference(&path),
        Purpose::Make(make) => {
            let job = jobs::make(app.plan().clone(), make, path, app.wake());
            app.jobs.push(job);
        }
    }
    None
}

// -------- questions

fn unsaved(app: &mut App, ui: &mut Ui, then: Then) -> Option<Dialog> {
    ui.heading(format!("{} has changes that are not saved", app.document().name()));
    let mut stays = true;
    ui.horizontal(|ui| {
        let path = app.document().path.clone();
        if ui.button("Save").clicked() {
            stays = false;
            match path {
                Some(path) => {
                    app.save_to(&path);
                    if !app.document().is_changed() {
                        app.left(then.clone());
                    }
                }
                None => app.dialog = Some(Dialog::save(app)),
            }
        }
        if ui.button("Leave them").on_hover_text("The changes are lost").clicked() {
            stays = false;
            app.left(then.clone());
        }
        if ui.button("Cancel").clicked() {
            stays = false;
        }
    });
    stays.then_some(Dialog::Unsaved { then })
}

fn conflict(app: &mut App, ui: &mut Ui, plan: Arc<Plan>) -> Option<Dialog> {
    ui.heading("The file was changed by another program");
    ui.label("The window has changes of its own. Which plan goes on? The other stays under Undo, or in the file until you save.");
    let mut stays = true;
    ui.horizontal(|ui| {
        if ui.button("Take the file's").clicked() {
            app.take_theirs(plan.clone());
            stays = false;
        }
        if ui.button("Keep the window's").clicked() {
            app.keep_mine(plan.clone());
            stays = false;
        }
    });
    stays.then_some(Dialog::Conflict(plan))
}

fn recover(app: &mut App, ui: &mut Ui, mut left: Vec<Unsaved>) -> Option<Dialog> {
    ui.heading("Work that was not saved");
    ui.label("The window was not closed in order. This was under work:");
    let mut done = None;
    for (index, one) in left.iter().enumerate() {
        ui.horizontal(|ui| {
            let name = match &one.path {
                Some(path) => path.display().to_string(),
                None if one.plan.title.is_empty() => "a plan without a file".into(),
                None => one.plan.title.clone(),
            };
            if ui.button("Take it up").clicked() {
                done = Some((index, true));
            }
            if ui.button("Forget it").clicked() {
                done = Some((index, false));
            }
            ui.add(
                egui::Label::new(format!("{name}, {} lights", one.plan.lights.len())).truncate(),
            );
        });
    }
    if let Some((index, take)) = done {
        let one = left.remove(index);
        if take {
            app.recover(&one);
            // the others are offered again at the next start
            return None;
        }
        one.forget();
    }
    let later = ui.button("Later").clicked();
    (!left.is_empty() && !later).then_some(Dialog::Recover(left))
}

fn balance(app: &mut App, ui: &mut Ui, mut wishes: Vec<(String, String)>) -> Option<Dialog> {
    ui.heading("Balance powers");
    ui.label("What the meter should read at the face, dome toward each light: an f-number for one light, stops from the key for others. Leave empty what may stay.");
    for (name, wish) in &mut wishes {
        ui.horizontal(|ui| {
            let label = ui.label(name.as_str());
            let hint = if name.contains("key") { "f/8" } else { "-2" };
            let field = egui::TextEdit::singleline(wish).hint_text(hint).desired_width(90.0);
            ui.add(field).labelled_by(label.id);
        });
    }
    let asked: Vec<(&String, &String)> =
        wishes.iter().filter(|(_, wish)| !wish.trim().is_empty()).map(|(n, w)| (n, w)).collect();
    let read: Option<Vec<Wish>> = asked.iter().map(|(name, wish)| wish_of(name, wish)).collect();
    let mut stays = true;
    ui.horizontal(|ui| {
        let ready = read.as_ref().is_some_and(|wishes| !wishes.is_empty());
        if ui.add_enabled(ready, egui::Button::new("Balance")).clicked() {
            let options = BalanceOptions {
                wishes: read.clone().unwrap_or_default(),
                at: MeterPoint::Mark("face".into()),
                dome: DomeAim::EachLight,
                key: None,
                moved: Vec::new(),
                step_stops: None,
                seed: 1,
            };
            let job = jobs::balance(app.plan().clone(), options, app.wake());
            app.jobs.push(job);
            stays = false;
        }
        if ui.button("Cancel").clicked() {
            stays = false;
        }
        if read.is_none() {
            ui.label(
                RichText::new("write f/8, or stops such as -2 or +1/3")
                    .color(theme::warning(app.is_dark())),
            );
        }
    });
    stays.then_some(Dialog::Balance(wishes))
}

/// `f/8`, or stops from the key.
fn wish_of(name: &str, typed: &str) -> Option<Wish> {
    let typed = typed.trim();
    let (base, stops) = if typed.starts_with(['f', 'F']) {
        (Base::Aperture(fstop::parse(typed)?), 0.0)
    } else {
        (Base::Key, crate::window::entry::read::<crate::plan::Power>(typed).ok()?.stops)
    };
    Some(Wish { subject: Subject::Light(name.into()), base, stops, at: None })
}

// -------- lists

fn notes(app: &mut App, ui: &mut Ui) -> Option<Dialog> {
    ui.heading("Before the day");
    let dark = app.is_dark();
    ScrollArea::vertical().max_height(380.0).show(ui, |ui| {
        for note in app.notes.iter() {
            let (word, ink) = match note.severity {
                Severity::Problem => ("problem", theme::wrong(dark)),
                _ => ("note", theme::warning(dark)),
            };
            ui.horizontal_wrapped(|ui| {
                ui.label(RichText::new(word).color(ink));
                ui.strong(&note.subject);
            });
            ui.label(&note.what);
            ui.label(RichText::new(&note.remedy).weak());
            ui.separator();
        }
    });
    (!ui.button("Close").clicked()).then_some(Dialog::Notes)
}

fn keys(ui: &mut Ui) -> Option<Dialog> {
    ui.heading("Keys");
    ScrollArea::vertical().max_height(420.0).show(ui, |ui| {
        egui::Grid::new("keys").num_columns(2).striped(true).show(ui, |ui| {
            for (act, keys, words) in act::TABLE {
                if keys.is_some()
                    && let Some(shortcut) = act::keys(*act)
                {
                    ui.label(RichText::new(ui.ctx().format_shortcut(&shortcut)).monospace());
                    ui.label(*words);
                    ui.end_row();
                }
            }
            for (keys, words) in [
                ("Tab", "To the next field or button"),
                ("Arrows", "In a number: a third of a stop, a degree, 5 cm (Shift: three)"),
                (
                    "Drag",
                    "In the set: turn it; a light: round the sitter (Shift: by 5°, Ctrl: freely)",
                ),
                ("Middle drag", "In the set: move it"),
                ("Wheel", "In the set: nearer, farther"),
            ] {
                ui.label(RichText::new(keys).monospace());
                ui.label(words);
                ui.end_row();
            }
        });
    });
    (!ui.button("Close").clicked()).then_some(Dialog::Keys)
}

fn first_steps(ui: &mut Ui) -> Option<Dialog> {
    ui.heading("First steps");
    for line in [
        "1. Plan, New plan. Set up, Sitter; then Key light, Fill light, Rim light.",
        "2. Take a light by its sign in the set and drag it round the sitter. The picture follows.",
        "3. The stop ruler shows what each light reads at the face against the camera's aperture. Drag a mark to turn that light.",
        "4. Press M and point at the picture: the meter reads each light apart. Click to pin it.",
        "5. 1, 2, 3 show a light alone, 0 all of them, P plays the test series.",
        "6. K keeps a frame; click it on the strip to compare, double-click to go back.",
        "7. Make, Still… writes the picture, with the plan in it.",
    ] {
        ui.label(line);
    }
    (!ui.button("Close").clicked()).then_some(Dialog::FirstSteps)
}
