//! The window, headless.
