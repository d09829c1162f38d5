//! No work is lost: recovery, a file that another program changes, plans that cannot be read.

use eframe::egui::{Key, Modifiers};

use crate::drive::{Window, quick, write};

#[test]
fn work_under_way_outlives_a_window_that_dies() {
    let mut window = Window::with_plan(quick());
    window.click("key a third more");
    window.click("key a third more");
    window.app().settle_autosave();
    let wanted = window.app().plan().clone();
    let Window { harness, folder } = window;
    // the window goes without a word: nothing is saved, nothing is asked
    drop(harness);
    let mut again = Window::at(folder, None);
    assert!(again.has("Work that was not saved"));
    again.click("Take it up");
    assert_eq!(**again.app().plan(), *wanted);
    assert!(again.app().document().is_changed(), "the file still says what it said");
    again.chord(Modifiers::COMMAND, Key::Z);
    assert_ne!(**again.app().plan(), *wanted, "undo goes to what the file says");
}

#[test]
fn the_window_follows_its_file_and_asks_where_both_changed() {
    let mut window = Window::with_plan(quick());
    let path = window.path("set.ron");
    write(&path, &quick().replace("distance: 2)", "distance: 1.5)"));
    window.until("the file's change", |app| {
        app.plan().lights[0].place != app.plan().lights[1].place
            && app.last_word().is_some_and(|word| word.contains("follows"))
    });
    assert!(!window.app().document().is_changed());

    // broken: the last good plan stays, with a word
    write(&path, "(format: 1, lights: [");
    window
        .until("a word", |app| app.last_word().is_some_and(|word| word.contains("last good plan")));
    assert_eq!(window.app().plan().lights.len(), 2);

    // both changed: asked, and either can be had
    window.click("fill a third more");
    write(&path, &quick().replace("1/16", "1/64"));
    let start = std::time::Instant::now();
    while !window.has("changed by another program") {
        assert!(start.elapsed().as_secs() < 20);
        std::thread::sleep(std::time::Duration::from_millis(50));
        window.steps(1);
    }
    window.click("Take the file's");
    assert_eq!(window.app().plan().lights[0].power.stops, -6.0);
    assert!(!window.app().document().is_changed());
    window.chord(Modifiers::COMMAND, Key::Z);
    assert_eq!(window.app().plan().lights[0].power.stops, -4.0, "the window's own is under undo");
}

#[test]
fn a_bad_plan_shows_its_diagnosis_and_the_last_good_one_stays() {
    let mut window = Window::with_plan("(format: 1, lights: [(name: \"key\", powr: 1)])");
    assert!(window.has("This cannot be opened"));
    assert!(window.has("powr"), "with the field");
    window.click("Close");
    window.menu("Plan", "New plan");
    assert!(window.app().plan().lights.is_empty());
    // a set that cannot stand: said over the picture, the plan stays to be put right
    window.menu("Set up", "Key light");
    window.type_into("key distance", "8 m");
    window.until("the fault", |app| {
        matches!(app.status(), foreshadow::window::engine::Status::Fault(_))
    });
    window.chord(Modifiers::COMMAND, Key::Z);
    window.until("a picture again", |app| app.shown().is_some());
}

#[test]
fn saving_to_a_folder_that_takes_nothing_is_said_and_loses_nothing() {
    let mut window = Window::with_plan(quick());
    window.click("key a third more");
    window.chord(Modifiers::COMMAND | Modifiers::SHIFT, Key::S);
    let nowhere = window.path("no/such/folder/a.ron");
    window.type_into("File", nowhere.to_str().unwrap());
    assert!(
        window.app().last_word().unwrap().starts_with("Not saved"),
        "{:?}",
        window.app().last_word()
    );
    assert!(window.app().document().is_changed());
    window.chord(Modifiers::COMMAND, Key::S);
    assert!(!window.app().document().is_changed(), "its own file takes it");
    let saved = foreshadow::plan::read(window.path("set.ron")).unwrap();
    assert_eq!(saved.lights, window.app().plan().lights);
}
