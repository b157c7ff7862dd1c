//! Compiles nothing: what its `Cargo.toml` says keeps the sets of features of all builds the same.
