//! The project's own commands: cargo xtask phone, test, bench, rules, chip, journal.
