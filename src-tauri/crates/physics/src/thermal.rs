//! What a warm voice coil costs in level.
