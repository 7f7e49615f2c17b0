//! Do redundantly entered driver parameters agree, and which values fit them best.
