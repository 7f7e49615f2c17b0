//! What holds of the words of claims.

use domain::claim::{Claim, Kind};

use super::*;

#[test]
fn a_claim_that_is_no_claim_is_refused_with_its_place() {
    let why = parsed("bset product=a/b").unwrap_err().to_string();
    assert!(why.contains("did you mean best"), "{why}");
}

#[test]
fn help_names_every_kind() {
    let help = claim_help();
    for kind in Kind::ALL {
        assert!(help.contains(&format!("  {} ", kind.word())), "{}", kind.word());
    }
    assert!(Claim::parse("best product=a/b").is_ok());
}
