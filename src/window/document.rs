//! The plan that is worked on, its file, and every state it has been in.

use std::path::{Path, PathBuf};
use std::sync::Arc;

use crate::plan::{self, Plan, PlanError, check};

/// A change that can be taken back.
#[derive(Debug, Clone)]
struct Change {
    /// What was done, in words.
    what: String,
    before: Arc<Plan>,
}

/// Why a change is refused.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Refused {
    /// One sentence with the value.
    pub problem: String,
    /// What would be right.
    pub remedy: String,
}

/// A plan with its past and future.
#[derive(Debug, Clone)]
pub struct Document {
    plan: Arc<Plan>,
    past: Vec<Change>,
    future: Vec<Change>,
    /// Changes of this group are one until [`Document::close_group`].
    group: Option<String>,
    /// The file, once it has one.
    pub path: Option<PathBuf>,
    /// What the file says.
    saved: Arc<Plan>,
    /// Counts states, for whoever watches.
    version: u64,
}

impl Document {
    /// A plan; `path` is its file, whose text it is.
    pub fn new(plan: Plan, path: Option<PathBuf>) -> Self {
        let plan = Arc::new(plan);
        let saved = plan.clone();
        Self { plan, past: vec![], future: vec![], group: None, path, saved, version: 0 }
    }

    /// A plan with nothing in it but room and camera.
    pub fn empty() -> Self {
        let plan = Plan {
            format: 1,
            title: String::new(),
            note: String::new(),
            room: Default::default(),
            cloths: vec![],
            boxes: vec![],
            sitter: None,
            lights: vec![],
            boards: vec![],
            ambient: None,
            lamps: vec![],
            windows: vec![],
            camera: Default::default(),
            development: Default::default(),
            meter_constant: crate::optics::exposure::METER_CONSTANT,
            folder: Default::default(),
        };
        Self::new(plan, None)
    }

    /// The plan.
    pub fn plan(&self) -> &Arc<Plan> {
        &self.plan
    }

    /// Grows with every change.
    pub fn version(&self) -> u64 {
        self.version
    }

    /// Whether the file says something else.
    pub fn is_changed(&self) -> bool {
        *self.saved != *self.plan
    }

    /// Changes the plan, unless a value would leave its range. Changes of one `group` that follow
    /// each other (a drag) are taken back together.
    pub fn edit(
        &mut self,
        what: &str,
        group: Option<&str>,
        change: impl FnOnce(&mut Plan),
    ) -> Result<(), Refused> {
        let mut plan = (*self.plan).clone();
        change(&mut plan);
        if plan == *self.plan {
            return Ok(());
        }
        if let Some(fault) = check::draft(&plan).into_iter().next() {
            let problem = format!("{}: {}", fault.label, fault.problem);
            return Err(Refused { problem, remedy: fault.remedy });
        }
        let goes_on = group.is_some() && self.group.as_deref() == group && !self.past.is_empty();
        if !goes_on {
            self.past.push(Change { what: what.into(), before: self.plan.clone() });
        }
        self.group = group.map(str::to_owned);
        self.future.clear();
        self.put(Arc::new(plan));
        Ok(())
    }

    /// Ends a group of changes: the pointer is released.
    pub fn close_group(&mut self) {
        self.group = None;
    }

    /// Takes another plan as the next state: a kept frame's, or that of a changed file.
    pub fn replace(&mut self, what: &str, plan: Arc<Plan>) {
        if plan == self.plan {
            return;
        }
        self.past.push(Change { what: what.into(), before: self.plan.clone() });
        self.future.clear();
        self.group = None;
        self.put(plan);
    }

    fn put(&mut self, plan: Arc<Plan>) {
        self.plan = plan;
        self.version += 1;
    }

    /// What undo would take back.
    pub fn undo_what(&self) -> Option<&str> {
        self.past.last().map(|change| change.what.as_str())
    }

    /// What redo would do again.
    pub fn redo_what(&self) -> Option<&str> {
        self.future.last().map(|change| change.what.as_str())
    }

    /// Takes the last change back; whether there was one.
    pub fn undo(&mut self) -> bool {
        let Some(change) = self.past.pop() else { return false };
        self.future.push(Change { what: change.what, before: self.plan.clone() });
        self.group = None;
        self.put(change.before);
        true
    }

    /// Does it again.
    pub fn redo(&mut self) -> bool {
        let Some(change) = self.future.pop() else { return false };
        self.past.push(Change { what: change.what, before: self.plan.clone() });
        self.group = None;
        self.put(change.before);
        true
    }

    /// Writes the plan to its file.
    pub fn save(&mut self, path: &Path) -> Result<(), PlanError> {
        plan::write(&self.plan, path)?;
        self.path = Some(path.to_owned());
        let mut plan = (*self.plan).clone();
        plan.folder = plan::Folder(crate::files::folder_of(path).to_owned());
        self.plan = Arc::new(plan);
        self.saved = self.plan.clone();
        Ok(())
    }

    /// Notes what the file says now, when another program has changed it.
    pub fn file_says(&mut self, plan: Arc<Plan>) {
        self.saved = plan;
    }

    /// The name to show: the file's, or the plan's title.
    pub fn name(&self) -> String {
        let file = self.path.as_ref().and_then(|path| path.file_stem());
        match file {
            Some(stem) => stem.to_string_lossy().into_owned(),
            None if self.plan.title.is_empty() => "untitled".into(),
            None => self.plan.title.clone(),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn undo_goes_to_the_start_and_redo_to_the_end() {
        let mut document = Document::empty();
        let start = document.plan().clone();
        for iso in [200.0, 400.0, 800.0] {
            document.edit("ISO", None, |plan| plan.camera.iso = iso).unwrap();
        }
        while document.undo() {}
        assert_eq!(*document.plan(), start);
        assert!(!document.is_changed());
        while document.redo() {}
        assert_eq!(document.plan().camera.iso, 800.0);
        document.undo();
        document.edit("ISO", None, |plan| plan.camera.iso = 100.0).unwrap();
        assert!(!document.redo(), "a new change ends the old future");
    }

    #[test]
    fn a_drag_is_one_change() {
        let mut document = Document::empty();
        for focal in [60.0, 70.0, 80.0] {
            document.edit("focal", Some("drag"), |plan| plan.camera.focal_mm = focal).unwrap();
        }
        document.close_group();
        document.edit("focal", Some("drag"), |plan| plan.camera.focal_mm = 90.0).unwrap();
        assert!(document.undo());
        assert_eq!(document.plan().camera.focal_mm, 80.0);
        assert!(document.undo());
        assert_eq!(document.plan().camera.focal_mm, 85.0);
        assert!(!document.undo());
    }

    #[test]
    fn a_value_out_of_range_is_refused_and_changes_nothing() {
        let mut document = Document::empty();
        let refused = document.edit("ISO", None, |plan| plan.camera.iso = -3.0).unwrap_err();
        assert!(refused.problem.contains("iso"), "{refused:?}");
        assert_eq!(document.version(), 0);
    }
}
