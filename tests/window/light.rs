//! Light set by hand: from an empty plan to a still, by clicks and keys alone.

use eframe::egui::{Key, Modifiers};
use foreshadow::plan;
use foreshadow::window::meter::{At, Hand};

use crate::drive::{Window, mean, quick};

#[test]
fn three_lights_from_an_empty_plan_metered_kept_undone_and_exported() {
    let mut window = Window::with_plan("(format: 1)");
    let empty = window.app().plan().clone();
    window.menu("Set up", "Sitter");
    assert!(window.app().plan().sitter.is_some(), "{:?}", window.app().last_word());
    window.menu("Set up", "Key light");
    window.menu("Set up", "Fill light");
    window.menu("Set up", "Rim light");
    let names: Vec<String> = window.app().plan().lights.iter().map(|l| l.name.clone()).collect();
    assert_eq!(names, ["key", "fill", "rim"]);

    // numbers with their units, as a photographer writes them
    window.click("key");
    window.type_into("key distance", "5 ft");
    assert_eq!(window.field("key distance"), "1.524 m");
    window.type_into("key power", "-2 1/3");
    assert!((window.app().plan().lights[0].power.stops + 7.0 / 3.0).abs() < 1e-9);
    window.type_into("key power", "1/16");
    assert_eq!(window.app().plan().lights[0].power.stops, -4.0);
    window.type_into("key power", "50%");
    assert_eq!(window.app().plan().lights[0].power.stops, -4.0, "refused");
    assert!(window.app().last_word().unwrap().contains("50%"), "{:?}", window.app().last_word());
    window.key(Key::ArrowUp);
    assert!((window.app().plan().lights[0].power.stops + 11.0 / 3.0).abs() < 1e-9, "a third up");
    window.key(Key::ArrowDown);
    let made = window.app().plan().clone();

    // the meter: each light apart, at the face
    window.until("a reading of every light", |app| {
        let levels = app.readings(Hand::Chosen);
        levels.len() == 4 && levels.iter().all(|level| level.f_number.is_some())
    });
    assert!(window.has("key reads f/"), "the stop ruler says it");
    window.until("a picture", |app| app.shown().is_some());

    // keep, and undo to the start
    window.key(Key::K);
    assert_eq!(window.app().kept(), 1);
    let mut steps = 0;
    while window.app().document().undo_what().is_some() {
        window.chord(Modifiers::COMMAND, Key::Z);
        steps += 1;
    }
    assert!(steps >= 7, "{steps} changes");
    assert_eq!(*window.app().plan(), empty);
    while window.app().document().redo_what().is_some() {
        window.chord(Modifiers::COMMAND | Modifiers::SHIFT, Key::Z);
    }
    assert_eq!(*window.app().plan(), made);

    // a still with its plan in it
    window.chord(Modifiers::COMMAND, Key::E);
    window.click("480");
    window.click("0.15 stop, quick");
    let path = window.path("still.png");
    window.type_into("File", path.to_str().unwrap());
    window
        .until("the still", |app| app.last_word().is_some_and(|word| word.starts_with("Written")));
    assert_eq!(*plan::read(&path).unwrap().lights, *made.lights);
}

#[test]
fn a_power_is_a_gain_and_each_light_can_be_seen_alone() {
    let mut window = Window::with_plan(quick());
    window.settle();
    let all = mean(window.app());
    window.key(Key::Num1);
    window.until("the key alone", |app| app.shown().is_some() && mean(app) < 0.99 * all);
    let key = mean(window.app());
    window.key(Key::Num2);
    window.until("the fill alone", |app| (mean(app) - key).abs() > 0.01 * all);
    let fill = mean(window.app());
    assert!((key + fill - all).abs() < 1e-3 * all, "light adds: {key} + {fill} = {all}");

    // all again, and a stop less of the key: its part halves, with the layers that are there
    window.key(Key::Num0);
    window.until("all", |app| (mean(app) - all).abs() < 1e-4 * all);
    let layers = window.app().shown().unwrap().layers.clone();
    window.click("key");
    for _ in 0..3 {
        window.key(Key::ArrowDown);
    }
    let wanted = 0.5 * key + fill;
    window.until("half the key", |app| (mean(app) - wanted).abs() < 2e-3 * all);
    let now = window.app().shown().unwrap().layers.clone();
    assert!(std::sync::Arc::ptr_eq(&layers, &now), "no ray was traced for it");
}

#[test]
fn the_meter_reads_where_it_points_and_the_ruler_follows_the_power() {
    let mut window = Window::with_plan(quick());
    window.until("a reading", |app| app.readings(Hand::Chosen).len() == 3);
    let over = |app: &foreshadow::window::app::App| {
        app.readings(Hand::Chosen)[0].stops_over_camera.unwrap()
    };
    window.until("a steady reading", |app| app.readings(Hand::Chosen)[0].error_stops < 0.03);
    let before = over(window.app());
    window.click("key a third more");
    let after = over(window.app());
    assert!((after - before - 1.0 / 3.0).abs() < 0.06, "{before} {after}");
    window.key(Key::M);
    let picture = window.picture();
    window.harness.hover_at(picture.center());
    window.until("a reading under the pointer", |app| !app.readings(Hand::Pointing).is_empty());
    window.harness.drag_at(picture.center());
    window.harness.drop_at(picture.center());
    window.steps(4);
    assert!(matches!(window.app().place_of_reading(), At::Film(_)), "pinned");
}

#[test]
fn what_is_picked_is_copied_mirrored_locked_and_taken_away() {
    let mut window = Window::with_plan(quick());
    window.click("key");
    window.chord(Modifiers::COMMAND, Key::D);
    assert_eq!(window.app().plan().lights[2].name, "key 2");
    assert_eq!(window.field("key 2 round"), "−25°", "beside the first");
    window.key(Key::X);
    assert_eq!(window.field("key 2 round"), "25°");
    window.key(Key::ArrowRight);
    assert_eq!(window.field("key 2 round"), "26°");
    window.key(Key::L);
    window.key(Key::ArrowRight);
    assert_eq!(window.field("key 2 round"), "26°", "locked");
    window.key(Key::Delete);
    assert_eq!(window.app().plan().lights.len(), 2);
    window.chord(Modifiers::COMMAND, Key::U);
    window.click("key");
    assert_eq!(window.field("key distance"), "6 ft 6.5 in");
}
