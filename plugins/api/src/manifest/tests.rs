//! Tests of the manifest.
