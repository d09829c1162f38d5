//! A window in a folder of its own, and the hands that drive it.

use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

use eframe::egui::{self, Key, Modifiers};
use egui_kittest::Harness;
use egui_kittest::kittest::{NodeT, Queryable};
use foreshadow::window::app::{App, Start};
use foreshadow::window::engine::Status;

/// A window under test.
pub struct Window {
    pub harness: Harness<'static, App>,
    /// Where it keeps what outlives it.
    pub folder: tempfile::TempDir,
}

/// Nothing takes longer on two busy cores.
const PATIENCE: Duration = Duration::from_secs(120);

impl Window {
    /// Opens one, with this plan text as its file.
    pub fn with_plan(text: &str) -> Self {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("set.ron");
        std::fs::write(&path, text).unwrap();
        Self::at(folder, Some(path))
    }

    /// Opens one in a folder that may hold what an earlier one left.
    pub fn at(folder: tempfile::TempDir, plan: Option<PathBuf>) -> Self {
        let start = Start { plan, state: folder.path().join("state") };
        let harness = Harness::builder()
            .with_size([1280.0, 720.0])
            .with_max_steps(4)
            .build_eframe(move |context| App::new(&context.egui_ctx, start));
        let mut window = Self { harness, folder };
        window.steps(3);
        window
    }

    pub fn path(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    pub fn app(&self) -> &App {
        self.harness.state()
    }

    pub fn steps(&mut self, count: usize) {
        self.harness.run_steps(count);
    }

    /// Steps until something holds.
    pub fn until(&mut self, what: &str, holds: impl Fn(&App) -> bool) {
        let start = Instant::now();
        while !holds(self.harness.state()) {
            let waited = start.elapsed();
            assert!(
                waited < PATIENCE,
                "{what}: not within {waited:?}; {:?}, {:?}",
                self.app().status(),
                self.app().last_word()
            );
            std::thread::sleep(Duration::from_millis(15));
            self.harness.step();
        }
    }

    pub fn key(&mut self, key: Key) {
        self.harness.key_press(key);
        self.steps(3);
    }

    pub fn chord(&mut self, modifiers: Modifiers, key: Key) {
        self.harness.key_press_modifiers(modifiers, key);
        self.steps(3);
    }

    /// Clicks what is called so.
    pub fn click(&mut self, label: &str) {
        let found = self.harness.query_all_by_role_and_label(egui::Role::Button, label).next();
        found.unwrap_or_else(|| panic!("no button is called {label:?}")).click();
        self.steps(3);
    }

    /// Opens a menu and clicks a line of it.
    pub fn menu(&mut self, menu: &str, line: &str) {
        self.click(menu);
        // a menu takes a frame to find its size
        self.steps(5);
        let lines: Vec<_> = self.harness.query_all_by_label_contains(line).collect();
        // it lies over the lists and comes after them
        lines.last().unwrap_or_else(|| panic!("{menu} has no {line:?}")).click();
        self.steps(3);
    }

    /// Types into the field of this name, in place of what is there.
    pub fn type_into(&mut self, field: &str, text: &str) {
        self.harness.get_by_role_and_label(egui::Role::TextInput, field).focus();
        self.steps(2);
        self.chord(Modifiers::COMMAND, Key::A);
        self.harness.get_by_role_and_label(egui::Role::TextInput, field).type_text(text);
        self.steps(2);
        self.key(Key::Enter);
    }

    /// Whether something is called so.
    pub fn has(&self, label: &str) -> bool {
        self.harness.query_all_by_label_contains(label).next().is_some()
    }

    /// What the field of this name says.
    pub fn field(&self, name: &str) -> String {
        let node = self.harness.get_by_role_and_label(egui::Role::TextInput, name);
        node.accesskit_node().value().unwrap_or_default()
    }

    /// Where the picture is.
    pub fn picture(&self) -> egui::Rect {
        self.harness.get_all_by_label_contains("picture through the lens").next().unwrap().rect()
    }

    pub fn settle(&mut self) {
        self.until("a settled picture", |app| matches!(app.status(), Status::Settled { .. }));
    }
}

/// Mean picture value of what is shown.
pub fn mean(app: &App) -> f64 {
    let shown = app.shown().expect("a picture");
    let sum: f64 = shown.picture.pixels.iter().map(|p| f64::from(p.element_sum())).sum();
    sum / shown.picture.pixels.len() as f64
}

/// A text of a plan that settles soon.
pub fn quick() -> &'static str {
    r#"(
        format: 1,
        lights: [
            (name: "key", power: "1/16", place: Around(azimuth: -40, elevation: 30, distance: 2)),
            (name: "fill", power: "1/32", place: Around(azimuth: 40, elevation: 10, distance: 2.4)),
        ],
    )"#
}

pub fn write(path: &Path, text: &str) {
    // another second than the last writing, where the disk counts in seconds
    std::fs::write(path, text).unwrap();
}
