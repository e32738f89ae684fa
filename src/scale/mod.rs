//! Needle angle to temperature.
