//! What the page may ask: each command hands its request to the engine, on a thread that may block.

mod catalogue;
mod plugin;

use std::sync::Arc;

use engine::{
    AddProductRequest, AddSpecimenRequest, AddTeardownRequest, BandRequest, BandsRequest,
    BenchReadRequest, BenchRequest, BenchSaveRequest, ClaimAddRequest, ClaimRequest,
    ClaimWithdrawRequest, CompareRequest, Definition, DefinitionRequest, DraftRequest, Engine,
    Error, ErrorDto, HistoryRequest, NetworkRequest, NotesRequest, PhotoAddRequest,
    PhotoEditRequest, PhotoRequest, PhotosRequest, PriceRequest, PriceWithdrawal, ProductsRequest,
    PublishRequest, ReproduceRequest, ShowRequest, SweepRequest, Watch, WhatIfRequest, dto,
};
use serde::Deserialize;
use tauri::{State, async_runtime::spawn_blocking};

use crate::{
    desk::{Desk, Status, first_fault},
    page::{Listener, Pace},
};

pub(crate) use catalogue::*;
pub(crate) use plugin::*;

type Shared<'a> = State<'a, Arc<Desk>>;
type Answer<T> = Result<T, ErrorDto>;

#[tauri::command]
pub(crate) async fn status(desk: Shared<'_>) -> Answer<Status> {
    let desk = Arc::clone(&desk);
    spawn_blocking(move || desk.status()).await.map_err(|why| stopped(&why))
}

#[tauri::command]
pub(crate) async fn products(
    desk: Shared<'_>,
    request: ProductsRequest,
) -> Answer<dto::ProductList> {
    ask(&desk, move |engine| engine.products(&request)).await
}

#[tauri::command]
pub(crate) async fn notes(desk: Shared<'_>, request: NotesRequest) -> Answer<dto::ProductNotes> {
    ask(&desk, move |engine| engine.notes(&request)).await
}

#[tauri::command]
pub(crate) async fn show(desk: Shared<'_>, request: ShowRequest) -> Answer<dto::ProductSheet> {
    ask(&desk, move |engine| engine.show(&request)).await
}

#[tauri::command]
pub(crate) async fn prices(desk: Shared<'_>, request: ShowRequest) -> Answer<dto::PriceHistory> {
    ask(&desk, move |engine| engine.prices(&request)).await
}

#[tauri::command]
pub(crate) async fn read_price(
    desk: Shared<'_>,
    request: PriceRequest,
) -> Answer<dto::PriceReading> {
    ask(&desk, move |engine| engine.read_price(&request)).await
}

#[tauri::command]
pub(crate) async fn add_price(desk: Shared<'_>, request: PriceRequest) -> Answer<dto::PriceReport> {
    ask(&desk, move |engine| engine.add_price(&request)).await
}

#[tauri::command]
pub(crate) async fn withdraw_price(
    desk: Shared<'_>,
    request: PriceWithdrawal,
) -> Answer<dto::PriceReport> {
    ask(&desk, move |engine| engine.withdraw_price(&request)).await
}

#[tauri::command]
pub(crate) async fn add_product(
    desk: Shared<'_>,
    request: AddProductRequest,
) -> Answer<dto::AddReport> {
    ask(&desk, move |engine| engine.add_product(&request)).await
}

#[tauri::command]
pub(crate) async fn add_specimen(
    desk: Shared<'_>,
    request: AddSpecimenRequest,
) -> Answer<dto::AddReport> {
    ask(&desk, move |engine| engine.add_specimen(&request)).await
}

#[tauri::command]
pub(crate) async fn add_teardown(
    desk: Shared<'_>,
    request: AddTeardownRequest,
) -> Answer<dto::AddReport> {
    ask(&desk, move |engine| engine.add_teardown(&request)).await
}

#[tauri::command]
pub(crate) async fn bench(desk: Shared<'_>, request: BenchRequest) -> Answer<dto::BenchReport> {
    ask(&desk, move |engine| engine.bench(&request)).await
}

#[tauri::command]
pub(crate) async fn read_finding(
    desk: Shared<'_>,
    request: BenchReadRequest,
) -> Answer<dto::BenchEcho> {
    ask(&desk, move |engine| engine.read_finding(&request)).await
}

#[tauri::command]
pub(crate) async fn save_finding(
    desk: Shared<'_>,
    request: BenchSaveRequest,
) -> Answer<dto::BenchSaved> {
    ask(&desk, move |engine| engine.save_finding(&request)).await
}

#[tauri::command]
pub(crate) async fn history(
    desk: Shared<'_>,
    request: HistoryRequest,
) -> Answer<dto::HistoryReport> {
    ask(&desk, move |engine| engine.history(&request)).await
}

#[tauri::command]
pub(crate) async fn undo(desk: Shared<'_>) -> Answer<dto::RevertReport> {
    ask(&desk, |engine| engine.undo()).await
}

#[tauri::command]
pub(crate) async fn redo(desk: Shared<'_>) -> Answer<dto::RevertReport> {
    ask(&desk, |engine| engine.redo()).await
}

#[tauri::command]
pub(crate) async fn band(desk: Shared<'_>, request: BandRequest) -> Answer<dto::BandView> {
    at_desk(&desk, move |desk| desk.band(&request)).await
}

#[tauri::command]
pub(crate) async fn bands(desk: Shared<'_>, request: BandsRequest) -> Answer<dto::BandsReport> {
    ask(&desk, move |engine| engine.bands(&request)).await
}

#[tauri::command]
pub(crate) async fn compare(
    desk: Shared<'_>,
    request: CompareRequest,
) -> Answer<dto::CompareReport> {
    ask(&desk, move |engine| engine.compare(&request)).await
}

#[tauri::command]
pub(crate) async fn ranks(desk: Shared<'_>, request: BandRequest) -> Answer<dto::RankView> {
    at_desk(&desk, move |desk| desk.ranks(&request)).await
}

#[tauri::command]
pub(crate) async fn stability(
    desk: Shared<'_>,
    request: BandRequest,
) -> Answer<dto::StabilityReport> {
    ask(&desk, move |engine| engine.stability(&request)).await
}

#[tauri::command]
pub(crate) async fn next(desk: Shared<'_>, request: BandRequest) -> Answer<dto::NextReport> {
    ask(&desk, move |engine| engine.next(&request)).await
}

#[tauri::command]
pub(crate) async fn what_if(desk: Shared<'_>, request: WhatIfRequest) -> Answer<dto::WhatIfView> {
    ask(&desk, move |engine| engine.what_if_view(&request)).await
}

#[tauri::command]
pub(crate) async fn normal(desk: Shared<'_>, request: BandRequest) -> Answer<dto::NormalReport> {
    ask(&desk, move |engine| engine.normal(&request)).await
}

#[tauri::command]
pub(crate) async fn network(
    desk: Shared<'_>,
    request: NetworkRequest,
) -> Answer<dto::NetworkReport> {
    ask(&desk, move |engine| engine.network(&request)).await
}

#[tauri::command]
pub(crate) async fn photos(desk: Shared<'_>, request: PhotosRequest) -> Answer<dto::PhotoList> {
    ask(&desk, move |engine| engine.photos(&request)).await
}

#[tauri::command]
pub(crate) async fn photo(desk: Shared<'_>, request: PhotoRequest) -> Answer<dto::PhotoPicture> {
    ask(&desk, move |engine| engine.photo(&request)).await
}

#[tauri::command]
pub(crate) async fn add_photo(
    desk: Shared<'_>,
    request: PhotoAddRequest,
) -> Answer<dto::PhotoSaved> {
    ask(&desk, move |engine| engine.add_photo(&request)).await
}

#[tauri::command]
pub(crate) async fn edit_photo(
    desk: Shared<'_>,
    request: PhotoEditRequest,
) -> Answer<dto::PhotoSaved> {
    ask(&desk, move |engine| engine.edit_photo(&request)).await
}

#[tauri::command]
pub(crate) async fn sweep(desk: Shared<'_>, request: SweepRequest) -> Answer<dto::SweepReport> {
    ask(&desk, move |engine| engine.sweep(&request)).await
}

#[tauri::command]
pub(crate) async fn claim_forms(desk: Shared<'_>) -> Answer<dto::ClaimForms> {
    ask(&desk, Engine::claim_forms).await
}

#[tauri::command]
pub(crate) async fn judge_claim(
    desk: Shared<'_>,
    request: ClaimRequest,
) -> Answer<dto::ClaimJudgement> {
    ask(&desk, move |engine| engine.judge_claim(&request)).await
}

#[tauri::command]
pub(crate) async fn claims(desk: Shared<'_>) -> Answer<dto::ClaimList> {
    ask(&desk, Engine::claims).await
}

#[tauri::command]
pub(crate) async fn add_claim(
    desk: Shared<'_>,
    request: ClaimAddRequest,
) -> Answer<dto::ClaimAdded> {
    ask(&desk, move |engine| engine.add_claim(&request)).await
}

#[tauri::command]
pub(crate) async fn rejudge_claims(desk: Shared<'_>) -> Answer<dto::ClaimsRejudged> {
    ask(&desk, Engine::rejudge_claims).await
}

#[tauri::command]
pub(crate) async fn withdraw_claim(
    desk: Shared<'_>,
    request: ClaimWithdrawRequest,
) -> Answer<dto::ClaimWithdrawn> {
    ask(&desk, move |engine| engine.withdraw_claim(&request)).await
}

#[tauri::command]
pub(crate) async fn check_draft(
    desk: Shared<'_>,
    request: DraftRequest,
) -> Answer<dto::DraftReport> {
    ask(&desk, move |engine| engine.check_draft(&request)).await
}

#[tauri::command]
pub(crate) async fn plugins(desk: Shared<'_>) -> Answer<dto::PluginList> {
    ask(&desk, |engine| engine.plugins()).await
}

#[tauri::command]
pub(crate) async fn preview_publication(
    desk: Shared<'_>,
    request: PublishRequest,
) -> Answer<dto::PublicationPreview> {
    ask(&desk, move |engine| engine.preview_publication(&request)).await
}

/// What to publish, and the number of the work.
#[derive(Debug, Deserialize)]
pub(crate) struct Publish {
    what: PublishRequest,
    work: u32,
}

#[tauri::command]
pub(crate) async fn publish(
    desk: Shared<'_>,
    listener: State<'_, Listener>,
    request: Publish,
) -> Answer<dto::Publication> {
    let Publish { what, work } = request;
    long(&desk, &listener, work, move |desk, watch| desk.engine()?.publish(&what, watch)).await
}

#[tauri::command]
pub(crate) async fn reproduce(
    desk: Shared<'_>,
    request: ReproduceRequest,
) -> Answer<dto::Publication> {
    ask(&desk, move |engine| engine.reproduce(&request)).await
}

#[tauri::command]
pub(crate) async fn editions(desk: Shared<'_>) -> Answer<dto::EditionList> {
    ask(&desk, |engine| engine.editions()).await
}

#[tauri::command]
pub(crate) async fn read_definition(
    desk: Shared<'_>,
    request: DefinitionRequest,
) -> Answer<Definition> {
    ask(&desk, move |engine| engine.read_definition(&request)).await
}

/// Asks the engine on a thread that may block; scoring waits for worker processes.
async fn ask<T: Send + 'static>(
    desk: &Arc<Desk>,
    question: impl FnOnce(&Engine) -> Result<T, Error> + Send + 'static,
) -> Answer<T> {
    at_desk(desk, move |desk| desk.engine().and_then(|engine| question(&engine))).await
}

/// Does something at the desk on a thread that may block.
async fn at_desk<T: Send + 'static>(
    desk: &Arc<Desk>,
    work: impl FnOnce(&Desk) -> Result<T, Error> + Send + 'static,
) -> Answer<T> {
    let desk = Arc::clone(desk);
    let answer = spawn_blocking(move || work(&desk)).await;
    answer.map_err(|why| stopped(&why))?.map_err(|why| {
        crate::complain(&why.to_string());
        first_fault(&why)
    })
}

/// Does long work at the desk: the page is told how far it has come, and may end it by its number.
async fn long<T: Send + 'static>(
    desk: &Arc<Desk>,
    listener: &Listener,
    number: u32,
    work: impl FnOnce(&Desk, &mut Watch<'_>) -> Result<T, Error> + Send + 'static,
) -> Answer<T> {
    let told = listener.clone();
    at_desk(desk, move |desk| {
        let mut pace = Pace::default();
        desk.work(number, || work(desk, &mut |it| told.watch(desk, &mut pace, number, it)))
    })
    .await
}

/// The thread ended without an answer: a fault of the program, told like any other.
fn stopped(why: &tauri::Error) -> ErrorDto {
    crate::complain(&why.to_string());
    first_fault(&Error::Internal(why.to_string()))
}

#[cfg(test)]
mod tests {
    use base64::Engine as _;
    use sha2::Digest as _;

    macro_rules! names {
        ($($name:ident),*) => { [$(stringify!($name)),*] };
    }

    fn sorted(mut names: Vec<String>) -> Vec<String> {
        names.sort_unstable();
        names
    }

    fn commands() -> Vec<String> {
        sorted(with_commands!(names).iter().map(|it| (*it).to_owned()).collect())
    }

    /// The keys of the interface `Commands` in the page's list.
    #[test]
    fn the_page_lists_the_same_commands() {
        let source = include_str!("../../ui/src/lib/backend/commands.ts");
        let (_, interface) =
            source.split_once("export interface Commands {").expect("the interface is there");
        let (body, _) = interface.split_once("\n}").expect("the interface ends");
        let names = body
            .lines()
            .filter_map(|line| line.trim().split_once(": {"))
            .map(|(name, _)| name.to_owned())
            .collect();
        assert_eq!(sorted(names), commands());
    }

    #[test]
    fn the_window_may_call_each_command_and_nothing_else() {
        let file: serde_json::Value =
            serde_json::from_str(include_str!("../capabilities/main.json"))
                .expect("the capability file is JSON");
        let permissions = file["permissions"].as_array().expect("a list of permissions");
        let names = permissions
            .iter()
            .map(|it| it.as_str().unwrap_or_default())
            .map(|it| {
                // A permission is written with dashes.
                it.strip_prefix("allow-")
                    .unwrap_or_else(|| panic!("{it} is no command"))
                    .replace('-', "_")
            })
            .collect();
        assert_eq!(sorted(names), commands());
    }

    /// The page keeps this one type by hand.
    #[test]
    fn the_page_knows_the_fields_of_a_status() {
        let status = crate::desk::Desk::new(
            "no/such/file.boxworth".into(),
            crate::recent::Recent::in_folder(None),
        )
        .status();
        let value = serde_json::to_value(&status).expect("a status is JSON");
        let fields: Vec<String> = value.as_object().expect("an object").keys().cloned().collect();
        let source = include_str!("../../ui/src/lib/backend/commands.ts");
        let (_, interface) =
            source.split_once("export interface Status {").expect("the interface is there");
        let (body, _) = interface.split_once("\n}").expect("the interface ends");
        let names = body
            .lines()
            .map(str::trim)
            .filter(|line| !line.starts_with("/**"))
            .filter_map(|line| line.split_once(": "))
            .map(|(name, _)| name.to_owned())
            .collect();
        assert_eq!(sorted(names), sorted(fields));
    }

    #[test]
    fn the_policy_allows_nothing_unsafe() {
        let file: serde_json::Value = serde_json::from_str(include_str!("../tauri.conf.json"))
            .expect("the configuration is JSON");
        let policy = file["app"]["security"]["csp"].as_str().expect("a policy");
        assert!(policy.starts_with("default-src 'self'"), "{policy}");
        assert!(!policy.contains("unsafe"), "{policy}");
    }

    /// The preview of a publication is a page in a frame, and a frame made of a text has the policy of the window: its style is
    /// let through by its hash, and any other is not.
    #[test]
    fn the_policy_lets_the_style_of_publications_through() {
        let file: serde_json::Value = serde_json::from_str(include_str!("../tauri.conf.json"))
            .expect("the configuration is JSON");
        let policy = file["app"]["security"]["csp"].as_str().expect("a policy");
        let style = include_str!("../crates/export/src/html/style.css");
        let hash = base64::engine::general_purpose::STANDARD.encode(sha2::Sha256::digest(style));
        assert!(policy.contains(&format!("style-src 'self' 'sha256-{hash}'")), "hash: {hash}");
    }
}
