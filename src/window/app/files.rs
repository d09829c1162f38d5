//! Opening, saving, following and recovering plans; loading reference pictures.

use std::path::Path;
use std::sync::Arc;

use super::App;
use crate::picture::FileFormat;
use crate::plan::{self, Plan, shipped};
use crate::window::document::Document;
use crate::window::edits::Pick;
use crate::window::frames::Other;
use crate::window::memory::Unsaved;
use crate::window::meter::At;
use crate::window::panel::dialog::{Dialog, Then};
use crate::window::reference;
use crate::window::watch::{Seen, Watch};

impl App {
    /// Opens a plan or a still that carries one.
    pub fn open(&mut self, path: &Path) {
        match plan::read_draft(path) {
            Ok(plan) => {
                let is_plan = path.extension().is_none_or(|ending| {
                    FileFormat::of_path(Path::new(&format!("a.{}", ending.to_string_lossy())))
                        .is_none()
                });
                let file = is_plan.then(|| path.to_owned());
                self.watch = file.as_deref().map(Watch::new);
                self.start_with(Document::new(plan, file));
                self.preferences.remember(path);
                self.saved_state = false;
            }
            Err(error) => {
                self.dialog = Some(Dialog::Message {
                    title: "This cannot be opened".into(),
                    text: error.to_string(),
                })
            }
        }
    }

    pub(super) fn open_shipped(&mut self, shipped: &shipped::Shipped) {
        match plan::parse(shipped.text, shipped.name) {
            Ok(plan) => self.start_with(Document::new(plan, None)),
            Err(error) => self.say_wrong(error.to_string()),
        }
        self.watch = None;
    }

    /// Opens a shipped plan by its name.
    pub(in crate::window) fn open_named(&mut self, name: &str) {
        if let Some(shipped) = shipped::find(name) {
            self.open_shipped(shipped);
        }
    }

    pub(super) fn start_with(&mut self, document: Document) {
        self.document = document;
        self.pick = match self.plan().lights.first() {
            Some(light) => Pick::Light(light.name.clone()),
            None => Pick::Camera,
        };
        self.only = None;
        self.play = None;
        self.locked.clear();
        self.chosen = At::Mark("face".into());
        self.kept_version = u64::MAX;
    }

    /// Takes up unsaved work.
    pub(in crate::window) fn recover(&mut self, unsaved: &Unsaved) {
        let path = unsaved.path.clone();
        let on_disk = path.as_deref().and_then(|path| plan::read_draft(path).ok());
        let mut document =
            Document::new(on_disk.unwrap_or_else(|| unsaved.plan.clone()), path.clone());
        if document.path.is_none() {
            document = Document::empty();
        }
        document.replace("Recover", Arc::new(unsaved.plan.clone()));
        self.watch = path.as_deref().filter(|path| path.exists()).map(Watch::new);
        self.start_with(document);
        unsaved.forget();
        self.say("The unsaved work is back");
    }

    pub(in crate::window) fn save_to(&mut self, path: &Path) {
        match self.document.save(path) {
            Ok(()) => {
                self.watch = Some(Watch::new(path));
                self.preferences.remember(path);
                self.saved_state = false;
                self.kept_version = u64::MAX;
                self.say(format!("Saved {}", path.display()));
            }
            Err(error) => self.say_wrong(format!("Not saved: {error}")),
        }
    }

    pub(in crate::window) fn load_reference(&mut self, path: &Path) {
        match reference::read(path) {
            Ok(reference) => {
                self.screens.reference = None;
                self.reference = Some(reference);
                self.other = Some(Other::Reference);
                self.comparing = true;
            }
            Err(error) => self.say_wrong(error.to_string()),
        }
    }

    /// Opens what was dropped or named: a plan, a still with its plan, else a reference picture.
    pub fn take_file(&mut self, path: &Path) {
        let picture = FileFormat::of_path(path).is_some();
        if picture && plan::read_draft(path).is_err() {
            self.load_reference(path);
        } else if self.document.is_changed() {
            self.dialog = Some(Dialog::Unsaved { then: Then::Open(path.to_owned()) });
        } else {
            self.open(path);
        }
    }

    pub(super) fn watch_file(&mut self) {
        let Some(watch) = &mut self.watch else { return };
        match watch.look() {
            None => {}
            Some(Seen::Changed(plan)) if plan == *self.plan() => self.document.file_says(plan),
            Some(Seen::Changed(plan)) if !self.document.is_changed() => {
                self.document.file_says(plan.clone());
                self.document.replace("Changed in another program", plan);
                self.say("The file has changed; the window follows it");
            }
            Some(Seen::Changed(plan)) => self.dialog = Some(Dialog::Conflict(plan)),
            Some(Seen::Broken(error)) => {
                self.say_wrong(format!(
                    "The file has changed and cannot be read; the last good plan stays. {error}"
                ));
            }
            Some(Seen::Gone) => {
                self.say_wrong("The plan's file has gone; save to write it again");
            }
        }
    }

    /// Takes the file's version of a conflict.
    pub(in crate::window) fn take_theirs(&mut self, plan: Arc<Plan>) {
        self.document.file_says(plan.clone());
        self.document.replace("Taken from the file", plan);
    }

    /// Keeps the window's version of a conflict.
    pub(in crate::window) fn keep_mine(&mut self, plan: Arc<Plan>) {
        self.document.file_says(plan);
    }
}
