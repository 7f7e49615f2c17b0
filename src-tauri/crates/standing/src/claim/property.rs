//! What is known of a property of a product, in three values: yes, no, and undetermined (S. C. Kleene, *Introduction to
//! Metamathematics*, 1952, section 64, from memory).

/// Whether a product has a property.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Answer {
    /// It has not.
    No,
    /// Nobody looked, or it could not be told.
    Undetermined,
    /// It has.
    Yes,
}

impl From<bool> for Answer {
    fn from(it: bool) -> Self {
        if it { Answer::Yes } else { Answer::No }
    }
}

/// Whether all hold: the least of the answers; yes for none.
pub fn all_of(answers: impl IntoIterator<Item = Answer>) -> Answer {
    answers.into_iter().min().unwrap_or(Answer::Yes)
}

/// Whether any holds: the greatest of the answers; no for none.
pub fn any_of(answers: impl IntoIterator<Item = Answer>) -> Answer {
    answers.into_iter().max().unwrap_or(Answer::No)
}

/// The opposite; what is undetermined stays so.
#[must_use]
pub fn not(it: Answer) -> Answer {
    match it {
        Answer::No => Answer::Yes,
        Answer::Undetermined => Answer::Undetermined,
        Answer::Yes => Answer::No,
    }
}
