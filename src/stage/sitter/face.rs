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
    // The socket between brow, nose and cheekbone: deepest toward the nose.
    s.balls(Op::Carve(11.0), [31.5, 20.5, 92.5], [15.0, 9.6, 14.6], [0.0, 12.0, 0.0]);
    s.balls(Op::Carve(12.0), [18.5, 18.0, 95.0], [6.0, 8.5, 13.0], [0.0, 0.0, 0.0]);
}

fn nose(s: &mut Sculpt) {
    let none = [0.0; 3];
    // Bony pyramid from the root, then the cartilage ridge to the tip.
    s.bar(Op::Add(10.0), [0.0, 28.0, 84.5], [0.0, 4.0, 95.5], [8.0, 7.0, 7.5, 8.0]);
    s.bar(Op::Add(8.0), [0.0, 6.0, 94.5], [0.0, -13.0, 104.5], [8.0, 7.6, 7.6, 8.0]);
    // Side walls run out onto the cheek.
    s.balls(Op::Add(12.0), [7.5, -5.0, 87.5], [9.0, 23.0, 11.5], [-22.0, 24.0, -12.0]);
    // Tip of two cartilages.
    s.ball(Op::Add(8.0), [0.0, -14.8, 105.5], [9.4, 8.4, 9.6], none);
    s.balls(Op::Add(6.0), [3.0, -14.6, 108.6], [5.8, 6.2, 6.4], none);
    // Wings, and the soft triangle between wing and tip.
    s.balls(Op::Add(5.0), [7.0, -18.0, 101.0], [6.4, 7.0, 8.6], [0.0, 22.0, 0.0]);
    s.balls(Op::Add(4.5), [10.6, -20.0, 97.0], [6.4, 7.4, 9.6], [0.0, 22.0, 0.0]);
    // Columella and base.
    s.bar(Op::Add(4.0), [0.0, -25.5, 95.0], [0.0, -22.5, 107.5], [4.6, 3.6, 3.2, 3.6]);
    s.ball(Op::Add(6.0), [0.0, -24.0, 90.0], [15.0, 5.0, 9.0], none);
    // Nostrils.
    s.balls(Op::Carve(2.0), [6.6, -27.0, 100.5], [3.1, 5.4, 5.8], [16.0, 22.0, -18.0]);
}

fn mouth(s: &mut Sculpt) {
    let none = [0.0; 3];
    // Philtrum between its ridges.
    s.ball(Op::Raise(-1.4), [0.0, -34.0, 95.0], [4.6, 10.0, 14.0], none);
    s.balls(Op::Raise(0.7), [5.4, -35.0, 94.5], [3.8, 10.0, 12.0], none);
    // Upper lip: wing from the corner, then the bow.
    s.cords(
        Op::Add(5.0),
        &[
            ([25.8, -48.7, 79.8], 1.6),
            ([18.0, -47.3, 86.4], 3.0),
            ([9.0, -45.7, 91.0], 4.5),
            ([4.5, -45.6, 92.3], 4.6),
            ([0.0, -46.6, 92.6], 4.6),
        ],
    );
    // Lower lip: a fuller roll, shorter than the upper.
    s.cords(
        Op::Add(6.0),
        &[
            ([24.4, -49.7, 79.8], 1.6),
            ([17.0, -52.3, 86.0], 3.4),
            ([9.0, -54.2, 90.0], 5.0),
            ([0.0, -54.6, 91.0], 5.2),
        ],
    );
    // The line between them, and the corners.
    s.cords(
        Op::Carve(2.4),
        &[
            ([23.6, -49.2, 83.2], 0.5),
            ([18.0, -49.5, 89.2], 1.0),
            ([9.0, -49.3, 94.9], 1.1),
            ([4.0, -49.9, 96.7], 1.1),
            ([0.0, -50.2, 97.1], 1.1),
        ],
    );
    s.balls(Op::Raise(-1.4), [28.0, -50.5, 82.0], [6.0, 7.0, 9.0], none);
    // Cheek's fold beside the mouth.
    s.balls(Op::Raise(-1.3), [23.0, -31.0, 86.0], [7.0, 20.0, 16.0], [0.0, 0.0, 24.0]);
    s.balls(Op::Raise(1.1), [33.0, -24.0, 80.0], [15.0, 19.0, 18.0], none);
}

fn chin(s: &mut Sculpt) {
    let none = [0.0; 3];
    s.ball(Op::Raise(-1.7), [0.0, -66.5, 92.0], [24.0, 8.0, 16.0], none);
    s.ball(Op::Raise(1.0), [0.0, -80.0, 93.0], [14.0, 11.0, 12.0], none);
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
            centre: centre + axes * Vec3::new(-0.0006, -0.0002, -0.0004),
            axes,
            radii: Vec3::new(0.0176, 0.0136, 0.0143),
        };
        s.put(Op::Add(0.0075), cover);
    }
    // The fold of skin between brow and upper lid.
    s.cords(
        Op::Add(5.0),
        &[
            ([ex - 14.0, ey + 7.0, ez + 3.0], 1.6),
            ([ex - 8.0, ey + 11.5, ez + 4.8], 3.0),
            ([ex + 2.0, ey + 13.0, ez + 5.6], 4.0),
            ([ex + 9.0, ey + 11.0, ez + 2.0], 3.6),
            ([ex + 14.5, ey + 7.0, ez - 5.5], 2.2),
        ],
    );
    for side in SIDES {
        let centre = s.chart.eye(side);
        s.put(
            Op::Carve(0.0017),
            Shape::Almond {
                centre,
                axes: eye_axes(side),
                ball: EYEBALL_M - 0.0008,
                floor: 0.0065,
                opening: OPENING,
            },
        );
    }
}

fn ears(s: &mut Sculpt) {
    // A shell leaning back and out from the head, hollowed, with a rolled rim and a lobe.
    let plate = [-12.0, -26.0, -10.0];
    s.balls(Op::Add(5.0), [71.0, 4.0, -12.0], [5.0, 27.0, 16.0], plate);
    s.balls(Op::Carve(4.0), [79.0, 2.0, -7.0], [7.0, 15.0, 9.5], plate);
    s.cords(
        Op::Add(3.2),
        &[
            ([69.0, 8.0, -2.0], 1.8),
            ([71.0, 16.0, 2.0], 2.4),
            ([74.0, 27.0, -1.0], 2.6),
            ([78.0, 31.5, -10.0], 2.7),
            ([81.5, 30.0, -20.0], 2.7),
            ([83.0, 19.0, -26.0], 2.6),
            ([82.0, 4.0, -26.5], 2.4),
            ([78.0, -9.0, -22.0], 2.3),
            ([74.0, -18.0, -15.0], 2.2),
        ],
    );
    s.cords(
        Op::Add(4.0),
        &[
            ([76.5, 24.0, -8.0], 1.8),
            ([78.5, 15.0, -16.5], 2.6),
            ([78.5, 2.0, -19.0], 2.8),
            ([75.5, -9.0, -15.0], 2.6),
            ([73.0, -13.0, -6.0], 2.2),
        ],
    );
    s.balls(Op::Add(7.0), [70.5, -20.0, -8.0], [4.0, 8.4, 7.5], [0.0, -26.0, 0.0]);
    s.balls(Op::Add(3.0), [70.0, -3.0, 2.0], [3.4, 6.5, 3.6], [0.0, 20.0, 0.0]);
}
