//! Textbook ladders and pads: element values from closed forms.
