//! Writes the TypeScript types of the engine's requests and answers into the folder given as the only argument.

#![expect(clippy::print_stderr, reason = "a program for the terminal")]

use std::{env, process::ExitCode};

use engine::{
    AddProductRequest, AddSpecimenRequest, AddTeardownRequest, BandRequest, BandsRequest,
    BenchReadRequest, BenchRequest, BenchSaveRequest, ClaimAddRequest, ClaimRequest,
    ClaimWithdrawRequest, CompareRequest, DefinitionRequest, DraftRequest, ErrorDto,
    HistoryRequest, NetworkRequest, NotesRequest, PhotoAddRequest, PhotoEditRequest, PhotoRequest,
    PhotosRequest, PriceRequest, PriceWithdrawal, ProductsRequest, PublishRequest,
    ReproduceRequest, RubricRequest, ShowRequest, SweepRequest, WhatIfRequest, dto,
};
use ts_rs::{Config, ExportError, TS};

fn main() -> ExitCode {
    let Some(folder) = env::args_os().nth(1) else {
        eprintln!("usage: export_types FOLDER");
        return ExitCode::from(2);
    };
    match export(&Config::new().with_out_dir(folder)) {
        Ok(()) => ExitCode::SUCCESS,
        Err(why) => {
            eprintln!("{why}");
            ExitCode::FAILURE
        }
    }
}

/// Each line brings the types that it refers to along.
fn export(config: &Config) -> Result<(), ExportError> {
    AddProductRequest::export_all(config)?;
    AddSpecimenRequest::export_all(config)?;
    AddTeardownRequest::export_all(config)?;
    BandRequest::export_all(config)?;
    PriceRequest::export_all(config)?;
    PriceWithdrawal::export_all(config)?;
    BandsRequest::export_all(config)?;
    CompareRequest::export_all(config)?;
    BenchRequest::export_all(config)?;
    BenchReadRequest::export_all(config)?;
    BenchSaveRequest::export_all(config)?;
    HistoryRequest::export_all(config)?;
    NotesRequest::export_all(config)?;
    ProductsRequest::export_all(config)?;
    ShowRequest::export_all(config)?;
    NetworkRequest::export_all(config)?;
    ClaimAddRequest::export_all(config)?;
    ClaimRequest::export_all(config)?;
    ClaimWithdrawRequest::export_all(config)?;
    DraftRequest::export_all(config)?;
    PublishRequest::export_all(config)?;
    DefinitionRequest::export_all(config)?;
    ReproduceRequest::export_all(config)?;
    RubricRequest::export_all(config)?;
    SweepRequest::export_all(config)?;
    PhotosRequest::export_all(config)?;
    PhotoAddRequest::export_all(config)?;
    PhotoEditRequest::export_all(config)?;
    PhotoRequest::export_all(config)?;
    WhatIfRequest::export_all(config)?;
    ErrorDto::export_all(config)?;
    dto::AddReport::export_all(config)?;
    dto::BandView::export_all(config)?;
    dto::PriceHistory::export_all(config)?;
    dto::PriceReading::export_all(config)?;
    dto::PriceReport::export_all(config)?;
    dto::ProductNotes::export_all(config)?;
    dto::BandsReport::export_all(config)?;
    dto::CompareReport::export_all(config)?;
    dto::BenchEcho::export_all(config)?;
    dto::BenchReport::export_all(config)?;
    dto::BenchSaved::export_all(config)?;
    dto::ProductList::export_all(config)?;
    dto::ProductSheet::export_all(config)?;
    dto::HistoryReport::export_all(config)?;
    dto::NetworkReport::export_all(config)?;
    dto::RankView::export_all(config)?;
    dto::Publication::export_all(config)?;
    dto::PublicationPreview::export_all(config)?;
    dto::EditionList::export_all(config)?;
    dto::EditionCheck::export_all(config)?;
    dto::RecordReport::export_all(config)?;
    dto::RevertReport::export_all(config)?;
    dto::StabilityReport::export_all(config)?;
    dto::NextReport::export_all(config)?;
    dto::SweepReport::export_all(config)?;
    dto::PhotoList::export_all(config)?;
    dto::PhotoSaved::export_all(config)?;
    dto::PhotoPicture::export_all(config)?;
    dto::PhotoClean::export_all(config)?;
    dto::WhatIfView::export_all(config)?;
    dto::NormalReport::export_all(config)?;
    dto::RubricList::export_all(config)?;
    dto::RubricHistory::export_all(config)?;
    dto::RubricSetting::export_all(config)?;
    dto::ClaimAdded::export_all(config)?;
    dto::ClaimForms::export_all(config)?;
    dto::ClaimList::export_all(config)?;
    dto::ClaimWithdrawn::export_all(config)?;
    dto::ClaimsRejudged::export_all(config)?;
    dto::DraftReport::export_all(config)?;
    dto::NewPlugin::export_all(config)?;
    dto::PluginCheck::export_all(config)?;
    dto::PluginFileView::export_all(config)?;
    dto::TrustReport::export_all(config)?;
    dto::Judgement::export_all(config)?;
    dto::ImportReport::export_all(config)?;
    dto::PluginList::export_all(config)
}
