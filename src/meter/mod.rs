//! Readings: incident and spot, each light apart, ratios.
