//! Cloth as meshes: hung, swept, thrown over boxes, in folds.
