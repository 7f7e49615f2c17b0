//! Moving mass by an added mass and Vas by a known volume: the one experiment beyond a sweep.
