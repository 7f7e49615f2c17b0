//! Claims as typed.

use proptest::prelude::*;

use super::*;

#[test]
fn a_claim_of_each_family_reads_and_writes() {
    for text in [
        "best product=hollin/arbor-5 of=crossover band=200..500",
        "only product=hollin/arbor-5 where=\"cabinet.brace_count >= 2\" kind=stand-mount",
        "more product=hollin/arbor-5 than=tessel/m4 of=score",
        "most where=\"cabinet.brace_count = 0 and (a.b != c or not d.e < 5 mm)\" population=market band=..500",
        "exactly count=3 where=\"a.b = 'this and that'\"",
        "above product=all of=cabinet.mass limit=\"5 kg\" among=\"cabinet.box_type = vented\"",
        "typical product=hollin/arbor-5 of=wiring",
        "unbeaten product=hollin/arbor-5 band=200..500",
        "falls of=driver",
    ] {
        let it = Claim::parse(text).unwrap();
        assert_eq!(it.to_string(), text);
    }
    let it = Claim::parse("  best   product=\"hollin/arbor-5\" ").unwrap();
    assert_eq!(it.to_string(), "best product=hollin/arbor-5 of=score");
    assert_eq!(it.kind.family(), Family::Superlative);
    let it = Claim::parse("few where=a.b>=1").unwrap();
    assert_eq!(it.having.unwrap().terms()[0].operator, Operator::AtLeast);
}

#[test]
fn what_is_no_claim_names_its_fault() {
    for (text, wanted) in [
        ("", "says nothing"),
        ("bset product=a/b", "did you mean best"),
        ("best", "needs product=…"),
        ("best prodct=a/b", "did you mean product"),
        ("best product=a/b count=3", "is no key of best"),
        ("best product=a/b product=a/c", "says a key twice"),
        ("best product=", "has no value"),
        ("best product", "has no value"),
        ("best product=\"a/b", "has a quote that does not end"),
        ("best product=nobody", "is no product"),
        ("most where=a.b", "says nothing of a.b"),
        ("most where=\"a.b =\"", "lacks a value for a.b"),
        ("most where=\"(a.b = 1\"", "has a parenthesis that does not end"),
        ("most where=\"a.b = 1) \"", "side by side"),
        ("most where=\"and = 1 or\"", "lacks a finding"),
        ("at-least count=-1 where=a.b=1", "is no number"),
        ("most where=a.b=1 population=world", "is no population"),
        ("best product=a/b kind=boat", "is no kind of product"),
        ("most where=\"a.b = ''\"", "around nothing"),
    ] {
        let why = Claim::parse(text).unwrap_err().to_string();
        assert!(why.contains(wanted), "{text}: {why}");
    }
    let deep = format!("most where=\"{}a.b = 1{}\"", "(".repeat(200), ")".repeat(200));
    assert!(Claim::parse(&deep).unwrap_err().to_string().contains("too deep"));
    assert!(Claim::parse(&"best ".repeat(500)).unwrap_err().to_string().contains("too long"));
    // Short enough as typed, too long with its blanks and its population.
    let terse = format!("most where=\"{}a=b\"", "a=b or ".repeat(280));
    let why = Claim::parse(&terse).unwrap_err().to_string();
    assert!(why.contains("when it is written out"), "{why}");
}

proptest! {
    #[test]
    fn no_text_panics_and_what_reads_writes_the_same_again(
        text in prop_oneof![
            ".{0,80}",
            "(best|most|above|exactly) (product|where|of|count|limit)=[a-z/\"'()=<>! .0-9]{0,40}",
            "most where=\"[a-c.=<>!()' andornt0-9]{0,60}\"",
        ],
    ) {
        if let Ok(it) = Claim::parse(&text) {
            let written = it.to_string();
            prop_assert_eq!(Claim::parse(&written), Ok(it), "{}", written);
        }
    }
}
