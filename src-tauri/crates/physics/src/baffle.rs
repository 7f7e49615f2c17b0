//! The step from half to full space at a baffle's edge.
