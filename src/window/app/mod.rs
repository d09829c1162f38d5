//! The window's state, what acts do to it, and its threads joined to it frame by frame.

mod acts;
mod alone;
mod files;

use std::collections::BTreeSet;
use std::path::PathBuf;
use std::sync::Arc;
use std::time::{Duration, Instant};

use eframe::egui;
use glam::Vec2;

use crate::plan::{self, Plan, shipped};
use crate::shoot::Note;
use crate::window::act::{self, Act, View};
use crate::window::document::{Document, Refused};
use crate::window::edits::Pick;
use crate::window::engine::{Engine, Look, Overlay, Shown, Standing, Status, Wish};
use crate::window::frames::{Compare, Frame, Other};
use crate::window::jobs::{Job, Outcome};
use crate::window::memory::{self, Autosave, Preferences};
use crate::window::meter::{Ask, At, Dome, Hand, Meter};
use crate::window::orbit::Orbit;
use crate::window::panel;
use crate::window::panel::dialog::Dialog;
use crate::window::reference::Reference;
use crate::window::solid::Solid;
use crate::window::theme;
use crate::window::watch::Watch;

/// How the window starts.
#[derive(Debug, Clone)]
pub struct Start {
    /// A plan's file or a still; without it, the last plan or the starter.
    pub plan: Option<PathBuf>,
    /// Where it keeps what outlives it.
    pub state: PathBuf,
}

/// A word to the user.
#[derive(Debug, Clone)]
pub struct Word {
    /// What.
    pub text: String,
    /// Something went wrong.
    pub wrong: bool,
    since: Instant,
}

/// The test series being played.
#[derive(Debug, Clone)]
pub struct Play {
    /// Names of the lights of each frame.
    frames: Vec<Vec<String>>,
    at: usize,
    next: Instant,
}

/// The window.
pub struct App {
    pub(super) document: Document,
    pub(super) preferences: Preferences,
    pub(super) state: PathBuf,
    pub(super) engine: Engine,
    pub(super) meter: Meter,
    pub(super) solid: Solid,
    autosave: Autosave,
    watch: Option<Watch>,
    pub(super) pick: Pick,
    pub(super) locked: BTreeSet<Pick>,
    pub(super) view: View,
    pub(super) only: Option<Vec<String>>,
    pub(super) overlay: Overlay,
    pub(super) metering: bool,
    pub(super) chosen: At,
    pub(super) dome: Dome,
    pub(super) pointing: Option<Vec2>,
    pub(super) grid: bool,
    pub(super) orbit: Orbit,
    pub(super) frames: Vec<Frame>,
    pub(super) other: Option<Other>,
    pub(super) comparing: bool,
    pub(super) compare: Compare,
    pub(super) wipe: f32,
    pub(super) opacity: f32,
    pub(super) reference: Option<Reference>,
    pub(super) jobs: Vec<Job>,
    pub(super) notes: Arc<Vec<Note>>,
    checked: u64,
    checking: Option<Job>,
    pub(super) dialog: Option<Dialog>,
    pub(super) word: Option<Word>,
    pub(super) play: Option<Play>,
    pub(super) screens: panel::Screens,
    pub(super) picture_pixels: u32,
    pub(super) shown: Option<Shown>,
    kept_version: u64,
    saved_state: bool,
    closing: bool,
    title: String,
    context: egui::Context,
}

impl App {
    /// Starts the threads and opens the first plan.
    pub fn new(context: &egui::Context, start: Start) -> Self {
        theme::install(context);
        let preferences = Preferences::read(&start.state);
        let wake = || {
            let context = context.clone();
            move || context.request_repaint()
        };
        let left = memory::left_behind(&start.state);
        let mut app = Self {
            document: Document::empty(),
            engine: Engine::start(wake()),
            meter: Meter::start(wake()),
            solid: Solid::start(wake()),
            autosave: Autosave::start(&start.state),
            state: start.state,
            watch: None,
            pick: Pick::Camera,
            locked: BTreeSet::new(),
            view: View::default(),
            only: None,
            overlay: Overlay::None,
            metering: false,
            chosen: At::Mark("face".into()),
            dome: Dome::default(),
            pointing: None,
            grid: false,
            orbit: Orbit::default(),
            frames: Vec::new(),
            other: None,
            comparing: false,
            compare: Compare::default(),
            wipe: 0.5,
            opacity: 0.5,
            reference: None,
            jobs: Vec::new(),
            notes: Arc::default(),
            checked: 0,
            checking: None,
            dialog: None,
            word: None,
            play: None,
            screens: panel::Screens::default(),
            picture_pixels: 480,
            shown: None,
            kept_version: 0,
            saved_state: true,
            closing: false,
            title: String::new(),
            context: context.clone(),
            preferences,
        };
        let last = app.preferences.recent.first().filter(|path| path.exists()).cloned();
        match start.plan.or(last) {
            Some(path) => app.open(&path),
            None => app.open_shipped(&shipped::SHIPPED[0]),
        }
        if !left.is_empty() {
            app.dialog = Some(Dialog::Recover(left));
        }
        app.apply_preferences();
        app
    }

    /// The plan.
    pub fn plan(&self) -> &Arc<Plan> {
        self.document.plan()
    }

    /// The document.
    pub fn document(&self) -> &Document {
        &self.document
    }

    /// The newest picture.
    pub fn shown(&self) -> Option<&Shown> {
        self.shown.as_ref()
    }

    /// How far the picture is.
    pub fn status(&self) -> Status {
        self.engine.status()
    }

    /// Frames on the strip.
    pub fn kept(&self) -> usize {
        self.frames.len()
    }

    /// The last word to the user.
    pub fn last_word(&self) -> Option<&str> {
        self.word.as_ref().map(|word| word.text.as_str())
    }

    /// Readings with today's powers, light by light, all together last; empty while there is none.
    pub fn readings(&self, hand: Hand) -> Vec<crate::window::meter::Level> {
        self.levels(hand)
    }

    /// Where the stop ruler reads.
    pub fn place_of_reading(&self) -> &At {
        &self.chosen
    }

    /// Waits until unsaved work is on the disk.
    pub fn settle_autosave(&self) {
        self.autosave.settle();
    }

    /// The set that stands.
    pub(super) fn standing(&self) -> Option<Standing> {
        self.engine.standing()
    }

    pub(super) fn is_dark(&self) -> bool {
        !self.preferences.light_theme
    }

    fn apply_preferences(&self) {
        let light = self.preferences.light_theme;
        self.context.set_theme(if light { egui::Theme::Light } else { egui::Theme::Dark });
    }

    /// A callback that wakes the window.
    pub(super) fn wake(&self) -> impl Fn() + Send + Sync + 'static {
        let context = self.context.clone();
        move || context.request_repaint()
    }

    /// Says something quietly.
    pub(super) fn say(&mut self, text: impl Into<String>) {
        self.word = Some(Word { text: text.into(), wrong: false, since: Instant::now() });
    }

    /// Says that something went wrong.
    pub(super) fn say_wrong(&mut self, text: impl Into<String>) {
        self.word = Some(Word { text: text.into(), wrong: true, since: Instant::now() });
    }

    /// Changes the plan; a refusal is said.
    pub(super) fn edit(&mut self, what: &str, group: Option<&str>, change: impl FnOnce(&mut Plan)) {
        if let Err(Refused { problem, remedy }) = self.document.edit(what, group, change) {
            self.say_wrong(format!("{problem}. {remedy}"));
        }
    }

    /// Number of a light, for its colour and key.
    pub(super) fn number(&self, light: &str) -> usize {
        let lights = &self.plan().lights;
        lights.iter().position(|one| one.name == light).unwrap_or(lights.len())
    }

    /// Joins what the threads have to the state, and tells them what is wanted.
    fn join(&mut self) {
        if !self.pick.is_in(self.plan()) {
            self.pick = match self.plan().lights.last() {
                Some(light) => Pick::Light(light.name.clone()),
                None => Pick::Camera,
            };
        }
        if self.kept_version != self.document.version() {
            self.kept_version = self.document.version();
            let unsaved = self.document.is_changed();
            let work = (self.plan().clone(), self.document.path.clone());
            self.autosave.keep(unsaved.then_some(work));
        }
        if !self.saved_state {
            self.saved_state = true;
            if let Err(error) = self.preferences.write(&self.state) {
                self.say_wrong(format!(
                    "Preferences cannot be kept in {}: {error}",
                    self.state.display()
                ));
            }
        }
        self.watch_file();
        self.go_on_playing();
        let also = match self.only.as_deref() {
            Some([one]) => Some(one.clone()),
            _ => None,
        };
        self.engine.ask(Wish {
            plan: self.plan().clone(),
            long_side: self.picture_pixels,
            within_stops: 0.04,
            also,
        });
        self.engine.pause(!self.jobs.is_empty());
        self.engine.look(Look { only: self.only.clone(), overlay: self.overlay });
        let number = self.engine.shown_number();
        if self.shown.as_ref().map_or(0, |shown| shown.number) != number {
            self.shown = self.engine.shown();
        }
        if matches!(self.engine.status(), Status::Dark) {
            self.shown = None;
        }
        if let Some(standing) = self.standing() {
            let known = |name: &str| standing.stage.marks.iter().any(|mark| mark.name == name);
            if let At::Mark(name) = &self.chosen
                && name != "face"
                && !known(name)
            {
                self.chosen = At::Mark("face".into());
            }
            let stage = standing.stage.clone();
            let ask = Ask { stage: stage.clone(), at: self.chosen.clone(), dome: self.dome };
            self.meter.ask(Hand::Chosen, Some(ask));
            let pointing = self.pointing.filter(|_| self.metering);
            let ask = pointing.map(|film| Ask { stage, at: At::Film(film), dome: self.dome });
            self.meter.ask(Hand::Pointing, ask);
            self.check();
        }
        self.join_jobs();
        if let Some(word) = &self.word
            && !word.wrong
            && word.since.elapsed() > Duration::from_secs(8)
        {
            self.word = None;
        }
        if let Some(trouble) = self.autosave.trouble()
            && self.word.as_ref().is_none_or(|word| word.text != trouble)
        {
            self.say_wrong(trouble);
        }
        // the file is looked at while nothing else happens
        self.context.request_repaint_after(Duration::from_millis(450));
    }

    /// Whether the notes are of the plan as it stands.
    pub(super) fn is_checked(&self) -> bool {
        self.checking.is_none() && self.checked == self.document.version() + 1
    }

    /// Looks for what will go wrong on the day, once the picture rests.
    fn check(&mut self) {
        let version = self.document.version();
        if self.checking.is_none()
            && self.checked != version + 1
            && matches!(self.engine.status(), Status::Settled { .. } | Status::Dark)
        {
            self.checked = version + 1;
            self.checking = Some(crate::window::jobs::check(self.plan().clone(), self.wake()));
        }
        if let Some(Outcome::Notes(notes)) = self.checking.as_ref().and_then(Job::take_outcome) {
            self.notes = notes;
            self.checking = None;
        }
    }

    fn join_jobs(&mut self) {
        let mut words = Vec::new();
        let mut balanced = None;
        self.jobs.retain(|job| match job.take_outcome() {
            None => true,
            Some(outcome) => {
                match outcome {
                    Outcome::Wrote(path) => {
                        words.push((false, format!("Written: {}", path.display())))
                    }
                    Outcome::Stopped => words.push((false, format!("Stopped: {}", job.title))),
                    Outcome::Failed(problem) => words.push((true, problem)),
                    Outcome::Balanced(plan, report) => balanced = Some((plan, report)),
                    Outcome::Notes(_) => {}
                }
                false
            }
        });
        for (wrong, text) in words {
            if wrong { self.say_wrong(text) } else { self.say(text) }
        }
        if let Some((plan, report)) = balanced {
            self.document.replace("Balance", plan);
            let worst = report.wishes.iter().map(|wish| wish.off_stops.abs()).fold(0.0, f64::max);
            let words: Vec<String> = report
                .lights
                .iter()
                .map(|light| {
                    format!("{} {}", light.name, plan::Power { stops: light.power_stops }.display())
                })
                .collect();
            self.say(format!("Balanced within {worst:.2} stop: {}", words.join(", ")));
        }
    }

    fn keys(&mut self) {
        if self.dialog.is_some() {
            return;
        }
        let typing = self.context.text_edit_focused();
        let mut acts = Vec::new();
        self.context.input_mut(|input| {
            // the longer chords first, so that Ctrl+Shift+Z is not Ctrl+Z
            for shifted in [true, false] {
                for (act, keys, _) in act::TABLE {
                    let Some((modifiers, key)) = *keys else { continue };
                    if modifiers.shift != shifted || (typing && !modifiers.command) {
                        continue;
                    }
                    while input.consume_key(modifiers, key) {
                        acts.push(*act);
                    }
                }
            }
            if input.consume_key(egui::Modifiers::COMMAND, egui::Key::Y) {
                acts.push(Act::Redo);
            }
        });
        for act in acts {
            self.act(act);
        }
    }

    fn name_window(&mut self) {
        let changed = if self.document.is_changed() { "• " } else { "" };
        let title = format!("{changed}{} – Foreshadow", self.document.name());
        if title != self.title {
            self.context.send_viewport_cmd(egui::ViewportCommand::Title(title.clone()));
            self.title = title;
        }
    }
}

impl eframe::App for App {
    fn ui(&mut self, ui: &mut egui::Ui, _frame: &mut eframe::Frame) {
        let dropped = ui.input(|input| input.raw.dropped_files.clone());
        if let Some(path) = dropped.first().map(|file| file.path().to_owned()) {
            self.take_file(&path);
        }
        if ui.input(|input| input.viewport().close_requested()) && !self.closing {
            if self.document.is_changed() {
                ui.ctx().send_viewport_cmd(egui::ViewportCommand::CancelClose);
                self.dialog =
                    Some(Dialog::Unsaved { then: crate::window::panel::dialog::Then::Quit });
            } else {
                self.autosave.keep(None);
            }
        }
        self.keys();
        self.join();
        self.name_window();
        panel::window(self, ui);
        if !ui.input(|input| input.pointer.any_down()) {
            self.document.close_group();
        }
    }
}
