//! The one list of commands that the page may call: it makes the permissions and the handler, and the tests hold the
//! page's own list against it.

/// Hands the names of all commands to the macro `$then`.
macro_rules! with_commands {
    ($then:ident) => {
        $then!(
            status,
            products,
            withdraw_price,
            add_price,
            read_price,
            prices,
            notes,
            show,
            band,
            bands,
            compare,
            add_product,
            add_specimen,
            add_teardown,
            bench,
            read_finding,
            save_finding,
            history,
            undo,
            redo,
            ranks,
            stability,
            next,
            what_if,
            normal,
            network,
            plugins,
            claim_forms,
            judge_claim,
            claims,
            add_claim,
            rejudge_claims,
            withdraw_claim,
            check_draft
        )
    };
}
