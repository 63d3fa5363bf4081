//! No layer imports upwards.
