//! The features of the face, on the skull of [`super::head`]: orbits, lids, nose, mouth, ears.
//!
//! In: the sculpt in progress. Out: more primitives. Millimetres of the average head.

use glam::{Mat3, Vec3};

use super::field::{Op, Opening, Shape};
use super::head::{EYE_MM, EYEBALL_M, Sculpt};
use super::skeleton::{SIDES, sign};

/// Adds every feature.
pub fn features(s: &mut Sculpt) {
    orbits(s);
    nose(s);
    mouth(s);
    chin(s);
    lids(s);
    ears(s);
}

fn orbits(s: &mut Sculpt) {
    // The socket between brow, nose and cheekbone.
    s.balls(Op::Carve(9.0), [33.0, 19.0, 93.0], [17.5, 11.5, 17.0], [0.0, 14.0, 0.0]);
    s.balls(Op::Carve(8.0), [19.0, 20.0, 96.0], [7.0, 9.0, 14.0], [0.0, 0.0, 0.0]);
}

fn nose(s: &mut Sculpt) {
    let none = [0.0; 3];
    // Bony pyramid from the root, then the cartilage ridge to the tip.
    s.bar(Op::Add(9.0), [0.0, 27.0, 85.0], [0.0, 4.0, 96.5], [8.0, 7.0, 7.0, 7.5]);
    s.bar(Op::Add(6.0), [0.0, 6.0, 95.5], [0.0, -13.0, 105.5], [7.5, 7.2, 7.2, 7.5]);
    // Side walls run out onto the cheek.
    s.balls(Op::Add(9.0), [7.0, -4.0, 88.0], [8.5, 22.0, 11.0], [-22.0, 24.0, -12.0]);
    // Tip of two cartilages.
    s.ball(Op::Add(5.0), [0.0, -16.0, 107.0], [8.6, 8.0, 9.0], none);
    s.balls(Op::Add(4.0), [3.2, -15.5, 109.0], [6.0, 6.4, 6.6], none);
    // Wings.
    s.balls(Op::Add(3.2), [11.4, -20.5, 98.0], [6.0, 7.2, 9.5], [0.0, 22.0, 0.0]);
    // Columella and base.
    s.bar(Op::Add(3.0), [0.0, -25.0, 97.0], [0.0, -22.0, 108.0], [4.4, 3.4, 3.2, 3.6]);
    s.ball(Op::Add(5.0), [0.0, -25.0, 92.0], [14.0, 5.5, 9.0], none);
    // Nostrils.
    s.balls(Op::Carve(1.6), [6.6, -27.0, 101.5], [3.1, 5.4, 5.6], [14.0, 20.0, -16.0]);
}

fn mouth(s: &mut Sculpt) {
    let none = [0.0; 3];
    // Philtrum between its ridges.
    s.ball(Op::Raise(-1.5), [0.0, -34.0, 98.0], [4.6, 10.0, 12.0], none);
    s.balls(Op::Raise(0.8), [5.2, -35.0, 97.5], [3.6, 10.0, 10.0], none);
    // Upper lip: bow and wings.
    s.bars(Op::Add(4.0), [25.5, -49.2, 83.5], [7.5, -45.6, 94.6], [1.4, 3.2, 4.2, 4.0]);
    s.bars(Op::Add(3.0), [7.5, -45.6, 94.6], [0.0, -47.2, 95.4], [4.0, 4.0, 4.0, 4.2]);
    // Lower lip: a fuller roll.
    s.bars(Op::Add(4.0), [25.0, -50.6, 83.5], [9.0, -54.4, 93.0], [1.4, 3.4, 5.0, 5.2]);
    s.bars(Op::Add(4.0), [9.0, -54.4, 93.0], [0.0, -54.8, 93.8], [5.2, 5.2, 5.2, 5.0]);
    // The line between them, and the corners.
    s.bars(Op::Carve(2.4), [26.5, -50.0, 87.5], [12.0, -49.4, 97.6], [1.0, 1.0, 1.1, 1.1]);
    s.bars(Op::Carve(2.4), [12.0, -49.4, 97.6], [0.0, -50.2, 100.2], [1.1, 1.1, 1.1, 1.1]);
    s.balls(Op::Raise(-1.6), [27.5, -50.5, 84.0], [5.0, 6.0, 8.0], none);
    // Cheek's fold beside the mouth.
    s.balls(Op::Raise(-1.6), [24.0, -30.0, 86.0], [7.0, 20.0, 14.0], [0.0, 0.0, 24.0]);
    s.balls(Op::Raise(1.6), [33.0, -24.0, 80.0], [14.0, 18.0, 16.0], none);
}

fn chin(s: &mut Sculpt) {
    let none = [0.0; 3];
    s.ball(Op::Raise(-3.0), [0.0, -66.5, 92.0], [24.0, 8.0, 14.0], none);
    s.ball(Op::Raise(1.2), [0.0, -80.0, 93.0], [14.0, 11.0, 12.0], none);
}

/// The almond between the lids, in the eye's own frame.
pub const OPENING: Opening =
    Opening { inner: [-0.0150, -0.0012], outer: [0.0138, 0.0010], upper: 0.0050, lower: 0.0052 };

/// The eye's own axes: x lateral, y up, z out, turned a little to the side.
pub fn eye_axes(side: usize) -> Mat3 {
    let s = sign(side);
    let out = Mat3::from_rotation_y(s * 9f32.to_radians());
    out * Mat3::from_cols(Vec3::new(s, 0.0, 0.0), Vec3::Y, Vec3::Z)
}

fn lids(s: &mut Sculpt) {
    let [ex, ey, ez] = EYE_MM;
    for side in SIDES {
        let centre = s.chart.eye(side);
        let axes = eye_axes(side);
        // Both lids as one cover over the ball, drawn out to the corners.
        let cover = Shape::Ellipsoid {
            centre: centre + axes * Vec3::new(-0.0006, 0.0, -0.0002),
            axes,
            radii: Vec3::new(0.0172, 0.0140, 0.0146),
        };
        s.put(Op::Add(0.0045), cover);
    }
    // The fold of skin between brow and upper lid.
    s.bars(
        Op::Add(3.0),
        [ex - 13.0, ey + 9.0, ez + 1.5],
        [ex + 1.0, ey + 13.0, ez + 6.0],
        [2.6, 3.6, 4.2, 4.4],
    );
    s.bars(
        Op::Add(3.0),
        [ex + 1.0, ey + 13.0, ez + 6.0],
        [ex + 17.0, ey + 6.5, ez - 5.0],
        [4.4, 4.4, 4.2, 3.4],
    );
    for side in SIDES {
        let centre = s.chart.eye(side);
        s.put(
            Op::Carve(0.0011),
            Shape::Almond {
                centre,
                axes: eye_axes(side),
                ball: EYEBALL_M - 0.0008,
                floor: 0.0035,
                opening: OPENING,
            },
        );
    }
}

fn ears(s: &mut Sculpt) {
    // A shell leaning back and out from the head, hollowed, with a rolled rim and a lobe.
    let plate = [0.0, -26.0, 0.0];
    s.balls(Op::Add(5.0), [71.0, 4.0, -12.0], [5.0, 27.0, 16.0], [-12.0, plate[1], -10.0]);
    s.balls(Op::Carve(4.0), [79.0, 2.0, -7.0], [7.0, 15.0, 9.5], [-12.0, plate[1], -10.0]);
    let rim: [[f32; 3]; 8] = [
        [70.0, 12.0, 2.0],
        [73.0, 25.0, 0.0],
        [77.5, 33.0, -9.0],
        [81.5, 31.0, -19.0],
        [83.5, 20.0, -26.0],
        [82.0, 4.0, -26.0],
        [78.0, -10.0, -21.0],
        [73.5, -20.0, -13.0],
    ];
    for pair in rim.windows(2) {
        s.bars(Op::Add(2.5), pair[0], pair[1], [2.6, 2.7, 2.7, 2.6]);
    }
    s.bars(Op::Add(3.5), [77.0, 22.0, -12.0], [77.0, -6.0, -16.0], [2.6, 2.8, 2.8, 2.4]);
    s.balls(Op::Add(4.0), [71.5, -23.0, -7.0], [4.2, 9.0, 7.5], [0.0, plate[1], 0.0]);
    s.balls(Op::Add(3.0), [70.0, -3.0, 2.0], [3.4, 6.5, 3.6], [0.0, 20.0, 0.0]);
}
