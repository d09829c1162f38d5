//! What acts do.

use eframe::egui;

use super::App;
use crate::window::act::Act;
use crate::window::document::Document;
use crate::window::edits::{self, Pick, Put};
use crate::window::engine::Overlay;
use crate::window::frames::{self, Frame, Other};
use crate::window::jobs::Make;
use crate::window::panel::dialog::{Dialog, Then};

impl App {
    /// Does it.
    pub fn act(&mut self, act: Act) {
        match act {
            Act::New => self.leaving(Then::New),
            Act::Open => self.dialog = Some(Dialog::open(self)),
            Act::Save => match self.document.path.clone() {
                Some(path) => self.save_to(&path),
                None => self.dialog = Some(Dialog::save(self)),
            },
            Act::SaveAs => self.dialog = Some(Dialog::save(self)),
            Act::Quit => self.context.send_viewport_cmd(egui::ViewportCommand::Close),
            Act::Undo => {
                if let Some(what) = self.document.undo_what().map(str::to_owned) {
                    self.document.undo();
                    self.say(format!("Taken back: {what}"));
                }
            }
            Act::Redo => {
                if let Some(what) = self.document.redo_what().map(str::to_owned) {
                    self.document.redo();
                    self.say(format!("Done again: {what}"));
                }
            }
            Act::Keep => self.keep(),
            Act::Put(what) => self.put(what),
            Act::Switch => self.switch(),
            Act::Duplicate => {
                let (pick, mut made) = (self.pick.clone(), None);
                self.edit("Duplicate", None, |plan| made = edits::duplicate(plan, &pick));
                self.pick = made.unwrap_or(pick);
            }
            Act::Mirror => {
                let pick = self.pick.clone();
                self.edit("Mirror", None, |plan| edits::mirror(plan, &pick));
            }
            Act::Remove => {
                let pick = self.pick.clone();
                self.edit(&format!("Take {} away", pick.label()), None, |plan| {
                    edits::remove(plan, &pick)
                });
            }
            Act::Lock => {
                let pick = self.pick.clone();
                if !self.locked.remove(&pick) {
                    self.locked.insert(pick);
                }
            }
            Act::Alone(number) => {
                if let Some(light) = self.plan().lights.get(number) {
                    self.alone(vec![light.name.clone()]);
                }
            }
            Act::RoomAlone => {
                let room = self.room_lights();
                match room.is_empty() {
                    true => self.say("This room has no light of its own; put one up under Set up"),
                    false => self.alone(room),
                }
            }
            Act::All => {
                self.only = None;
                self.play = None;
            }
            Act::Play => self.start_play(),
            Act::View(view) => self.view = view,
            Act::Overlay(overlay) => {
                self.overlay = if self.overlay == overlay { Overlay::None } else { overlay };
            }
            Act::Meter => self.metering = !self.metering,
            Act::Grid => self.grid = !self.grid,
            Act::Comparing => {
                if self.other.is_none() {
                    self.other = match (self.frames.is_empty(), &self.reference) {
                        (false, _) => Some(Other::Kept(self.frames.len() - 1)),
                        (true, Some(_)) => Some(Other::Reference),
                        _ => None,
                    };
                }
                match self.other {
                    Some(_) => self.comparing = !self.comparing,
                    None => self.say("Keep a frame or load a reference picture to compare with"),
                }
            }
            Act::Compare(compare) => {
                if !(self.comparing && self.compare != compare) {
                    self.act(Act::Comparing);
                }
                self.compare = compare;
            }
            Act::Reference => self.dialog = Some(Dialog::reference(self)),
            Act::MakeStill => self.ask_make(Make::Still { long_side: 960, within_stops: 0.05 }),
            Act::MakeSeries => self.ask_make(Make::Series),
            Act::MakeSheet => self.ask_make(Make::Sheet { feet: self.preferences.feet }),
            Act::MakeMap => self.ask_make(Make::Map),
            Act::MakeExport => self.ask_make(Make::Export),
            Act::Balance => self.dialog = Some(Dialog::balance(self)),
            Act::Theme => {
                self.preferences.light_theme = !self.preferences.light_theme;
                self.apply_preferences();
                self.saved_state = false;
            }
            Act::Units => {
                self.preferences.feet = !self.preferences.feet;
                self.saved_state = false;
            }
            Act::Keys => self.dialog = Some(Dialog::Keys),
            Act::Power(thirds) => self.turn_power(f64::from(thirds) / 3.0),
            Act::Nudge(round, up, farther) => self.nudge(round, up, farther),
        }
    }

    /// Does what comes after the plan is left, and asks first where it is not saved.
    pub(in crate::window) fn leaving(&mut self, then: Then) {
        if self.document.is_changed() {
            self.dialog = Some(Dialog::Unsaved { then });
        } else {
            self.left(then);
        }
    }

    /// Does it.
    pub(in crate::window) fn left(&mut self, then: Then) {
        match then {
            Then::New => {
                self.watch = None;
                self.start_with(Document::empty());
            }
            Then::Open(path) => self.open(&path),
            Then::Shipped(name) => self.open_named(&name),
            Then::Quit => {
                self.closing = true;
                self.autosave.keep(None);
                self.context.send_viewport_cmd(egui::ViewportCommand::Close);
            }
        }
    }

    fn ask_make(&mut self, make: Make) {
        self.dialog = Some(Dialog::make(self, make));
    }

    fn put(&mut self, what: Put) {
        let mut made = None;
        let name = Put::ALL.iter().find(|(one, _)| *one == what).map_or("", |(_, name)| name);
        self.edit(&format!("Put up {}", name.to_lowercase()), None, |plan| {
            made = Some(edits::put(plan, what))
        });
        if let Some(made) = made.filter(|made| made.is_in(self.plan())) {
            self.pick = made;
        }
    }

    fn switch(&mut self) {
        let Pick::Light(name) = self.pick.clone() else { return };
        self.switch_light(&name);
    }

    pub(in crate::window) fn switch_light(&mut self, name: &str) {
        self.edit("Switch", None, |plan| {
            if let Some(light) = edits::light_mut(plan, name) {
                light.on = !light.on;
            }
        });
    }

    /// Turns the picked light's power.
    pub(in crate::window) fn turn_power(&mut self, by: f64) {
        let Pick::Light(name) = self.pick.clone() else { return };
        self.turn_power_of(&name, by, None);
    }

    pub(in crate::window) fn turn_power_of(&mut self, name: &str, by: f64, group: Option<&str>) {
        self.edit("Power", group, |plan| {
            if let Some(light) = edits::light_mut(plan, name) {
                edits::turn_power(light, by);
            }
        });
    }

    fn nudge(&mut self, round: i8, up: i8, farther: i8) {
        if self.locked.contains(&self.pick) {
            self.say(format!("{} is locked in place", self.pick.label()));
            return;
        }
        let pick = self.pick.clone();
        self.edit("Move", None, |plan| {
            if let Some(place) = edits::place_mut(plan, &pick) {
                edits::nudge(place, f64::from(round), f64::from(up), 0.05 * f64::from(farther));
            }
        });
    }

    fn keep(&mut self) {
        let Some(shown) = &self.shown else { return };
        let name = format!("Frame {}", self.frames.len() + 1);
        self.frames.push(Frame::of(shown, name.clone()));
        self.say(format!("{name} kept: {}", frames::caption(self.plan())));
    }

    /// Goes back to a kept frame's plan; undo returns.
    pub(in crate::window) fn go_back(&mut self, index: usize) {
        if let Some(frame) = self.frames.get(index) {
            let (name, plan) = (frame.name.clone(), frame.plan.clone());
            self.document.replace(&format!("Back to {name}"), plan);
            self.say(format!("Back to {name}; undo returns"));
        }
    }
}
