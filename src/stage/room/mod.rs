//! Walls, floor, ceiling and boxes as meshes.
