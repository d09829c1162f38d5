//! Joins the pieces: plan to stage to layers to picture and readings; what verbs and the window call.
