//! Frequency modulation of a high tone by the excursion of a low one.
