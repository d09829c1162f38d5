//! Development: mix, expose, tone, encode. Knows only layers and optics.
