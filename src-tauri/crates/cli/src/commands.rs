//! What each command does: a request to the engine, an answer to standard output.

use std::path::{Path, PathBuf};

use engine::{
    AddProductRequest, AddSpecimenRequest, AddTeardownRequest, BandRequest, BandsRequest,
    BenchRequest, CheckRequest, CompareRequest, Date, Engine, EngineOptions, HistoryRequest,
    ImportRequest, NewPluginRequest, NewRequest, PriceRequest, PriceWithdrawal, ProductsRequest,
    RecordRequest, RubricRequest, ShowRequest, WhatIfRequest,
    dto::PluginList,
    text::{self, Detail},
};

use crate::{
    Answer,
    args::{
        Add, AddPrice, Asked, Band, Cli, Command, Compare, Doctor, Global, History, How, Import,
        New, NewPlugin, Plugin, Price, Record, Rubric, RubricAction, WhatIf,
    },
    claims, compute,
    failure::{Failure, complain},
    network,
    output::Output,
    photo,
    progress::Waiting,
    publication, reference, sweep,
};

/// Runs the command that was given.
pub(crate) fn run(cli: &Cli, output: &mut Output) -> Result<Answer, Failure> {
    let global = &cli.global;
    match &cli.command {
        Command::New(it) => new(global, it, output)?,
        Command::Import(it) => import(global, it, output)?,
        Command::Products(it) => {
            let request = ProductsRequest {
                band: it.band.clone(),
                kind: it.kind.clone(),
                missing: it.missing.clone(),
                words: (!it.words.is_empty()).then(|| it.words.join(" ")),
                counted: true,
            };
            output.answer(&open(global)?.products(&request)?, text::products)?;
        }
        Command::Show(it) => {
            let engine = open(global)?;
            let waiting = wait(global, "scoring");
            let sheet = engine.show(&ShowRequest { product: it.product.clone() })?;
            drop(waiting);
            output.answer(&sheet, text::sheet)?;
        }
        Command::Add(it) => add(global, it, output)?,
        Command::Bench(it) => {
            let engine = open(global)?;
            let waiting = wait(global, "computing");
            let report = engine.bench(&BenchRequest {
                product: it.product.clone(),
                specimen: it.specimen.clone(),
                date: it.date.clone(),
                parts: Vec::new(),
            })?;
            drop(waiting);
            output.answer(&report, text::bench)?;
        }
        Command::Record(it) => record(global, it, output)?,
        Command::Network(it) => network::run(global, it, output)?,
        Command::Price(it) => price(global, it, output)?,
        Command::Sweep(it) => sweep::run(global, it, output)?,
        Command::Photo(it) => photo::run(global, it, output)?,
        Command::History(it) => history(global, it, output)?,
        Command::Replay { file } => {
            output.answer(&open(global)?.replay(file)?, text::replayed)?;
        }
        Command::Undo => output.answer(&open(global)?.undo()?, text::undone)?,
        Command::Redo => output.answer(&open(global)?.redo()?, text::redone)?,
        Command::Band(it) => band(global, it, output)?,
        Command::Bands(it) => {
            let request = BandsRequest { kind: it.kind.clone(), ..BandsRequest::default() };
            output.answer(&open(global)?.bands(&request)?, text::bands)?;
        }
        Command::Compare(it) => compare(global, it, output)?,
        Command::Stability(it) => {
            let report = asked(global, it, Engine::stability)?;
            output.answer(&report, text::stability)?;
        }
        Command::Next(it) => output.answer(&asked(global, it, Engine::next)?, text::next)?,
        Command::Normal(it) => output.answer(&asked(global, it, Engine::normal)?, text::normal)?,
        Command::WhatIf(it) => what_if(global, it, output)?,
        Command::Claims(it) => {
            return claims::run(it, || open(global), || wait(global, "judging"), output);
        }
        Command::Rubric(it) => rubric(global, it, output)?,
        Command::Publish(it) => publication::publish(global, it, output)?,
        Command::Editions(it) => return publication::editions(global, it, output),
        Command::Export(it) => publication::export(global, it, output)?,
        Command::Plugin(it) => return plugin(global, it, output),
        Command::Backup(it) => {
            let list = match it.list {
                true => engine::copies(&catalogue(global)?)?,
                false => open(global)?.back_up()?,
            };
            output.answer(&list, text::copies)?;
        }
        Command::Restore(it) => {
            let report = engine::restore(&it.copy, &catalogue(global)?, it.discard_newer)?;
            output.answer(&report, text::restored)?;
        }
        Command::Doctor(it) => return doctor(global, it, output),
        Command::Compute(it) => compute::run(it, output)?,
        Command::Schema => {
            // The catalogue in the data folder is not meant unless it is named: the schema is the same for everybody then.
            let schema = match &global.catalogue {
                Some(_) => open(global)?.product_schema()?,
                None => engine::product_schema(),
            };
            output.text(&with_line_end(schema))?;
        }
        Command::Completions(it) => {
            output.text(&String::from_utf8_lossy(&reference::completions(it.shell)))?;
        }
        Command::Man => {
            let page = reference::man().map_err(|why| Failure::Internal(why.to_string()))?;
            output.text(&String::from_utf8_lossy(&page))?;
        }
    }
    Ok(Answer::Done)
}

pub(crate) fn open(global: &Global) -> Result<Engine, Failure> {
    Ok(Engine::open(EngineOptions {
        catalogue: catalogue(global)?,
        require_sandbox: global.require_sandbox,
        today: global.as_of,
        // What is printed was computed.
        cache: None,
    })?)
}

fn catalogue(global: &Global) -> Result<PathBuf, Failure> {
    Ok(match &global.catalogue {
        Some(it) => it.clone(),
        None => engine::default_catalogue()?,
    })
}

pub(crate) fn wait(global: &Global, what: &'static str) -> Waiting {
    Waiting::start(what, !global.no_progress)
}

fn new(global: &Global, it: &New, output: &mut Output) -> Result<(), Failure> {
    let today = global.as_of.unwrap_or_else(engine::today);
    let request = NewRequest {
        title: it.title.clone(),
        currency: it.currency.clone(),
        base_month: it.base_month.clone().unwrap_or_else(|| month_before(today)),
    };
    Engine::create(&it.file, &request)?;
    let made = serde_json::json!({
        "file": it.file.display().to_string(),
        "currency": request.currency,
        "base_month": request.base_month,
    });
    output.answer(&made, |_, width| text::made(&it.file, &request, width))
}

/// `YYYY-MM` of the month before a day.
fn month_before(day: Date) -> String {
    match day.month() {
        1 => format!("{:04}-12", day.year() - 1),
        month => format!("{:04}-{:02}", day.year(), month - 1),
    }
}

fn import(global: &Global, it: &Import, output: &mut Output) -> Result<(), Failure> {
    let engine = open(global)?;
    let waiting = wait(global, "importing");
    let request = ImportRequest { paths: it.paths.clone(), dry_run: it.dry_run };
    let report = engine.import(&request, &mut |it| waiting.watch(&it))?;
    drop(waiting);
    output.answer(&report, text::imported)
}

pub(crate) fn request(band: &str, how: &How) -> Result<BandRequest, Failure> {
    let (low, high) = engine::parse_band(band)?;
    Ok(BandRequest {
        low,
        high,
        kind: how.kind.clone(),
        weights: how.weights.as_ref().map(|it| it.0.clone()),
        draws: how.draws,
        seed: how.seed,
        kappa: how.kappa,
        threads: how.threads,
    })
}

/// Asks a question about a band, with a sign of life.
fn asked<T>(
    global: &Global,
    it: &Asked,
    question: fn(&Engine, &BandRequest) -> Result<T, engine::Error>,
) -> Result<T, Failure> {
    let request = request(&it.band, &it.how)?;
    let engine = open(global)?;
    let waiting = wait(global, "scoring");
    let report = question(&engine, &request)?;
    drop(waiting);
    Ok(report)
}

fn band(global: &Global, it: &Band, output: &mut Output) -> Result<(), Failure> {
    let report = asked(global, &it.asked, Engine::band)?;
    let detail = if it.all { Detail::All } else { Detail::Brief };
    output.answer(&report, |report, width| text::band(report, width, detail))
}

fn compare(global: &Global, it: &Compare, output: &mut Output) -> Result<(), Failure> {
    let request = CompareRequest {
        products: it.products.clone(),
        weights: it.weights.as_ref().map(|it| it.0.clone()),
        seed: it.seed,
    };
    let engine = open(global)?;
    let waiting = wait(global, "scoring");
    let report = engine.compare(&request)?;
    drop(waiting);
    output.answer(&report, text::compare)
}

fn what_if(global: &Global, it: &WhatIf, output: &mut Output) -> Result<(), Failure> {
    let request = WhatIfRequest {
        product: it.product.clone(),
        set: it.set.iter().cloned().collect(),
        evidence: it.evidence.clone(),
        price: it.price.clone(),
        weights: it.to_weights.as_ref().map(|it| it.0.clone()),
        band: request(&it.band, &it.how)?,
    };
    let engine = open(global)?;
    let waiting = wait(global, "scoring");
    let report = engine.what_if(&request)?;
    drop(waiting);
    output.answer(&report, text::what_if)
}

fn add(global: &Global, it: &Add, output: &mut Output) -> Result<(), Failure> {
    let engine = open(global)?;
    let report = match it {
        Add::Product(it) => engine.add_product(&AddProductRequest {
            maker: it.maker.clone(),
            model: it.model.clone(),
            kind: it.kind.clone(),
            ways: it.ways,
            powered: it.powered,
            year: it.year,
            note: it.note.clone(),
        }),
        Add::Specimen(it) => engine.add_specimen(&AddSpecimenRequest {
            product: it.product.clone(),
            label: it.label.clone(),
            acquired: it.acquired.clone(),
            serial: it.serial.clone(),
        }),
        Add::Teardown(it) => engine.add_teardown(&AddTeardownRequest {
            product: it.product.clone(),
            specimen: it.specimen.clone(),
            date: it.date.clone(),
            note: it.note.clone(),
        }),
    };
    output.answer(&report?, text::added)
}

fn record(global: &Global, it: &Record, output: &mut Output) -> Result<(), Failure> {
    let request = RecordRequest {
        product: it.product.clone(),
        finding: it.finding.clone(),
        value: it.value.clone(),
        evidence: it.evidence.clone(),
        note: it.note.clone(),
        date: it.date.clone(),
        specimen: it.specimen.clone(),
        acquired: it.acquired.clone(),
        reason: it.reason.clone(),
    };
    output.answer(&open(global)?.record(&request)?, text::recorded)
}

fn price(global: &Global, it: &Price, output: &mut Output) -> Result<(), Failure> {
    let engine = open(global)?;
    match it {
        Price::Add(it) if it.dry_run => {
            output.answer(&engine.read_price(&price_request(it))?, text::price_reading)
        }
        Price::Add(it) => output.answer(&engine.add_price(&price_request(it))?, text::price_change),
        Price::List { product } => {
            let request = ShowRequest { product: product.clone() };
            output.answer(&engine.prices(&request)?, text::prices)
        }
        Price::Withdraw { which, reason } => {
            let request = PriceWithdrawal {
                product: which.product.clone(),
                date: which.date.clone(),
                kind: which.kind.clone(),
                seller: which.seller.clone(),
                shop: which.shop.clone(),
                reason: reason.clone(),
            };
            output.answer(&engine.withdraw_price(&request)?, text::price_change)
        }
    }
}

fn price_request(it: &AddPrice) -> PriceRequest {
    let instead_of = it.instead_of.clone().map(|date| PriceWithdrawal {
        product: it.product.clone(),
        date,
        ..PriceWithdrawal::default()
    });
    PriceRequest {
        product: it.product.clone(),
        price: it.price.clone(),
        date: it.date.clone(),
        kind: it.kind.clone(),
        seller: it.seller.clone(),
        shop: it.shop.clone(),
        note: it.note.clone(),
        instead_of,
        reason: it.reason.clone(),
    }
}

fn rubric(global: &Global, it: &Rubric, output: &mut Output) -> Result<(), Failure> {
    let engine = open(global)?;
    let waiting = wait(global, "loading plugins");
    match &it.action {
        Some(RubricAction::Set { address, value, reason }) => {
            let setting = engine.set_rubric(address, value, reason)?;
            drop(waiting);
            output.answer(&setting, text::rubric_setting)
        }
        Some(RubricAction::Reset { address }) => {
            let setting = engine.reset_rubric(address)?;
            drop(waiting);
            output.answer(&setting, text::rubric_setting)
        }
        None if it.history => {
            let history = engine.rubric_history()?;
            drop(waiting);
            output.answer(&history, text::rubric_history)
        }
        None => {
            let request = RubricRequest { plugin: it.plugin.clone(), changed: it.changed };
            let list = engine.rubric(&request)?;
            drop(waiting);
            output.answer(&list, text::rubric)
        }
    }
}

fn plugin(global: &Global, it: &Plugin, output: &mut Output) -> Result<Answer, Failure> {
    match it {
        // It needs no catalogue.
        Plugin::New(it) => new_plugin(it, output)?,
        Plugin::List => {
            let engine = open(global)?;
            let waiting = wait(global, "loading plugins");
            let list = engine.plugins()?;
            drop(waiting);
            output.answer(&list, text::plugins)?;
        }
        Plugin::Check { file, only } => return check_plugin(global, file, only, output),
        Plugin::Trust { file } => {
            let engine = open(global)?;
            let seen = engine.look_at_plugin(file)?;
            // Whoever asks for JSON reads errors as JSON, and path, size and hash in the answer.
            if !global.json {
                complain(&text::plugin_file(&seen));
            }
            output.answer(&engine.trust_plugin(file, Some(&seen.sha256))?, text::trusted)?;
        }
        Plugin::Release { plugin } => {
            let row = open(global)?.release_plugin(plugin)?;
            output.answer(&row, |row, width| {
                text::plugins(&PluginList { plugins: vec![row.clone()] }, width)
            })?;
        }
        Plugin::Revoke { plugin } => open(global)?.revoke_plugin(plugin)?,
    }
    Ok(Answer::Done)
}

fn check_plugin(
    global: &Global,
    file: &Path,
    only: &[String],
    output: &mut Output,
) -> Result<Answer, Failure> {
    let request = CheckRequest {
        file: file.to_owned(),
        only: only.to_vec(),
        require_sandbox: global.require_sandbox,
    };
    let waiting = wait(global, "checking");
    let report = engine::check_plugin(&request, &mut |it| waiting.watch(&it))?;
    drop(waiting);
    output.answer(&report, text::plugin_check)?;
    Ok(if report.conforms { Answer::Done } else { Answer::Negative })
}

fn new_plugin(it: &NewPlugin, output: &mut Output) -> Result<(), Failure> {
    let request = NewPluginRequest {
        name: it.name.clone(),
        lang: it.lang.clone(),
        domain: it.domain.clone(),
        into: it.into.clone(),
    };
    output.answer(&engine::new_plugin(&request)?, text::new_plugin)
}

fn history(global: &Global, it: &History, output: &mut Output) -> Result<(), Failure> {
    let engine = open(global)?;
    if let Some(file) = &it.write {
        return output.answer(&engine.write_history(file)?, text::history_written);
    }
    let product = it.product.clone().unwrap_or_default();
    let request = HistoryRequest { product, finding: it.finding.clone() };
    output.answer(&engine.history(&request)?, text::history)
}

fn doctor(global: &Global, it: &Doctor, output: &mut Output) -> Result<Answer, Failure> {
    let engine = open(global)?;
    let waiting = wait(global, "checking");
    let is_healthy = if it.repair {
        let report = engine.repair()?;
        drop(waiting);
        output.answer(&report, text::repaired)?;
        report.after.healthy
    } else {
        let report = engine.doctor()?;
        drop(waiting);
        output.answer(&report, text::doctor)?;
        report.healthy
    };
    Ok(if is_healthy { Answer::Done } else { Answer::Negative })
}

pub(crate) fn with_line_end(mut text: String) -> String {
    if !text.ends_with('\n') {
        text.push('\n');
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_month_before_january_is_december() {
        let day = |text: &str| text.parse::<Date>().unwrap();
        assert_eq!(month_before(day("2026-01-31")), "2025-12");
        assert_eq!(month_before(day("2026-11-25")), "2026-10");
        assert_eq!(month_before(day("2024-03-01")), "2024-02");
    }
}
