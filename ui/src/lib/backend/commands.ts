// The commands that the window answers. A test of the window's Rust code compares this list with its own.
import type { AddProductRequest } from "../types/AddProductRequest";
import type { AddReport } from "../types/AddReport";
import type { AddSpecimenRequest } from "../types/AddSpecimenRequest";
import type { AddTeardownRequest } from "../types/AddTeardownRequest";
import type { BandRequest } from "../types/BandRequest";
import type { BandView } from "../types/BandView";
import type { BandsReport } from "../types/BandsReport";
import type { BandsRequest } from "../types/BandsRequest";
import type { CompareReport } from "../types/CompareReport";
import type { CompareRequest } from "../types/CompareRequest";
import type { ClaimAdded } from "../types/ClaimAdded";
import type { ClaimAddRequest } from "../types/ClaimAddRequest";
import type { ClaimForms } from "../types/ClaimForms";
import type { ClaimJudgement } from "../types/ClaimJudgement";
import type { ClaimList } from "../types/ClaimList";
import type { ClaimRequest } from "../types/ClaimRequest";
import type { ClaimsRejudged } from "../types/ClaimsRejudged";
import type { ClaimWithdrawn } from "../types/ClaimWithdrawn";
import type { ClaimWithdrawRequest } from "../types/ClaimWithdrawRequest";
import type { DraftReport } from "../types/DraftReport";
import type { DraftRequest } from "../types/DraftRequest";
import type { BenchEcho } from "../types/BenchEcho";
import type { BenchReadRequest } from "../types/BenchReadRequest";
import type { BenchReport } from "../types/BenchReport";
import type { BenchRequest } from "../types/BenchRequest";
import type { BenchSaved } from "../types/BenchSaved";
import type { BenchSaveRequest } from "../types/BenchSaveRequest";
import type { Definition } from "../types/Definition";
import type { DefinitionRequest } from "../types/DefinitionRequest";
import type { EditionList } from "../types/EditionList";
import type { ErrorDto } from "../types/ErrorDto";
import type { HistoryReport } from "../types/HistoryReport";
import type { HistoryRequest } from "../types/HistoryRequest";
import type { NetworkReport } from "../types/NetworkReport";
import type { NetworkRequest } from "../types/NetworkRequest";
import type { ImportReport } from "../types/ImportReport";
import type { Judgement } from "../types/Judgement";
import type { NextReport } from "../types/NextReport";
import type { NormalReport } from "../types/NormalReport";
import type { PluginCheck } from "../types/PluginCheck";
import type { PluginFileView } from "../types/PluginFileView";
import type { PluginList } from "../types/PluginList";
import type { PriceHistory } from "../types/PriceHistory";
import type { PriceReading } from "../types/PriceReading";
import type { PriceReport } from "../types/PriceReport";
import type { PriceRequest } from "../types/PriceRequest";
import type { PriceWithdrawal } from "../types/PriceWithdrawal";
import type { ProductNotes } from "../types/ProductNotes";
import type { PluginRow } from "../types/PluginRow";
import type { ProductList } from "../types/ProductList";
import type { ProductSheet } from "../types/ProductSheet";
import type { NotesRequest } from "../types/NotesRequest";
import type { ProductsRequest } from "../types/ProductsRequest";
import type { Publication } from "../types/Publication";
import type { PublicationPreview } from "../types/PublicationPreview";
import type { PublishRequest } from "../types/PublishRequest";
import type { ReproduceRequest } from "../types/ReproduceRequest";
import type { ShowRequest } from "../types/ShowRequest";
import type { RankView } from "../types/RankView";
import type { RevertReport } from "../types/RevertReport";
import type { RubricSetting } from "../types/RubricSetting";
import type { StabilityReport } from "../types/StabilityReport";
import type { PhotoAddRequest } from "../types/PhotoAddRequest";
import type { PhotoEditRequest } from "../types/PhotoEditRequest";
import type { PhotoList } from "../types/PhotoList";
import type { PhotoPicture } from "../types/PhotoPicture";
import type { PhotoRequest } from "../types/PhotoRequest";
import type { PhotoSaved } from "../types/PhotoSaved";
import type { PhotosRequest } from "../types/PhotosRequest";
import type { SweepReport } from "../types/SweepReport";
import type { SweepRequest } from "../types/SweepRequest";
import type { TrustReport } from "../types/TrustReport";
import type { WhatIfView } from "../types/WhatIfView";
import type { WhatIfRequest } from "../types/WhatIfRequest";

/** Nothing to say. */
export type Nothing = Record<string, never>;

/** Whether there is a catalogue to ask. The only answer of the window itself, not of the engine. */
/** A price band: whole units, open where null, and the kind of product or null for all. */
export interface StartBand {
  low: number | null;
  high: number | null;
  kind: string | null;
}

export interface Status {
  /** `absent`: no file there; `refused`: a file that this program cannot read. */
  state: "ready" | "absent" | "refused";
  /** The file of the catalogue. */
  file: string;
  /** The version of the program. */
  version: string;
  /** The band to begin with: the one that was asked about last in this catalogue. */
  band: StartBand;
  /** Why the file was refused. */
  fault: ErrorDto | null;
}

/** An item of a menu, with its key as `Ctrl+O`. */
export interface MenuItem {
  id: string;
  title: string;
  key: string | null;
}

export interface Menu {
  title: string;
  items: MenuItem[];
}

/** A file or a folder that was dropped on the window. */
export interface Dropped {
  /** The full path. */
  path: string;
  is_folder: boolean;
}

/** What the window tells without being asked. */
export type Told =
  | { kind: "act"; id: string }
  | { kind: "hover"; over: boolean }
  | { kind: "drop"; paths: Dropped[] }
  | { kind: "progress"; work: number; done: number; total: number; step: string };

/** The menus that the page wants, and who hears what happens outside it. */
export interface Attend {
  menus: Menu[];
  hear: (told: Told) => void;
}

/** What the system's dialog lets somebody choose. */
export type Chosen = "catalogue" | "new" | "folder" | "plugin" | "picture";

/** What an import did or would do; or all that is wrong, and then there is no report. */
export interface Imported {
  report: ImportReport | null;
  faults: ErrorDto[];
}

/** A number of the rubric as typed, and why. */
export interface RubricChange {
  address: string;
  value: string;
  reason: string;
}

export interface NewCatalogue {
  file: string;
  title: string | null;
  currency: string;
  /** `YYYY-MM`. */
  base_month: string;
}

/** Request and answer of each command. `work` is a number that `announce` gave: by it
 * progress is told and work is stopped. */
export interface Commands {
  attend: { request: Attend; answer: null };
  announce: { request: Nothing; answer: number };
  cancel: { request: { work: number }; answer: null };
  status: { request: Nothing; answer: Status };
  recent: { request: Nothing; answer: string[] };
  catalogue_new: { request: NewCatalogue; answer: Status };
  catalogue_open: { request: { file: string }; answer: Status };
  catalogue_seed: { request: Nothing; answer: Status };
  choose: { request: { what: Chosen }; answer: string | null };
  import: { request: { paths: string[]; dry_run: boolean; work: number }; answer: Imported };
  products: { request: ProductsRequest; answer: ProductList };
  notes: { request: NotesRequest; answer: ProductNotes };
  prices: { request: ShowRequest; answer: PriceHistory };
  read_price: { request: PriceRequest; answer: PriceReading };
  add_price: { request: PriceRequest; answer: PriceReport };
  withdraw_price: { request: PriceWithdrawal; answer: PriceReport };
  show: { request: ShowRequest; answer: ProductSheet };
  add_product: { request: AddProductRequest; answer: AddReport };
  add_specimen: { request: AddSpecimenRequest; answer: AddReport };
  add_teardown: { request: AddTeardownRequest; answer: AddReport };
  bench: { request: BenchRequest; answer: BenchReport };
  read_finding: { request: BenchReadRequest; answer: BenchEcho };
  save_finding: { request: BenchSaveRequest; answer: BenchSaved };
  history: { request: HistoryRequest; answer: HistoryReport };
  undo: { request: Nothing; answer: RevertReport };
  redo: { request: Nothing; answer: RevertReport };
  band: { request: BandRequest; answer: BandView };
  bands: { request: BandsRequest; answer: BandsReport };
  compare: { request: CompareRequest; answer: CompareReport };
  ranks: { request: BandRequest; answer: RankView };
  stability: { request: BandRequest; answer: StabilityReport };
  next: { request: BandRequest; answer: NextReport };
  what_if: { request: WhatIfRequest; answer: WhatIfView };
  normal: { request: BandRequest; answer: NormalReport };
  network: { request: NetworkRequest; answer: NetworkReport };
  sweep: { request: SweepRequest; answer: SweepReport };
  photos: { request: PhotosRequest; answer: PhotoList };
  photo: { request: PhotoRequest; answer: PhotoPicture };
  add_photo: { request: PhotoAddRequest; answer: PhotoSaved };
  edit_photo: { request: PhotoEditRequest; answer: PhotoSaved };
  plugins: { request: Nothing; answer: PluginList };
  judgement: { request: Nothing; answer: Judgement };
  rubric_set: { request: RubricChange; answer: RubricSetting };
  rubric_reset: { request: { address: string }; answer: RubricSetting };
  plugin_look: { request: { file: string }; answer: PluginFileView };
  plugin_trust: { request: { file: string; sha256: string }; answer: TrustReport };
  plugin_revoke: { request: { sha256: string }; answer: null };
  plugin_release: { request: { sha256: string }; answer: PluginRow };
  plugin_check: { request: { file: string; work: number }; answer: PluginCheck };
  claim_forms: { request: Nothing; answer: ClaimForms };
  judge_claim: { request: ClaimRequest; answer: ClaimJudgement };
  claims: { request: Nothing; answer: ClaimList };
  add_claim: { request: ClaimAddRequest; answer: ClaimAdded };
  rejudge_claims: { request: Nothing; answer: ClaimsRejudged };
  withdraw_claim: { request: ClaimWithdrawRequest; answer: ClaimWithdrawn };
  check_draft: { request: DraftRequest; answer: DraftReport };
  preview_publication: { request: PublishRequest; answer: PublicationPreview };
  publish: { request: { what: PublishRequest; work: number }; answer: Publication };
  reproduce: { request: ReproduceRequest; answer: Publication };
  editions: { request: Nothing; answer: EditionList };
  read_definition: { request: DefinitionRequest; answer: Definition };
}

export type Command = keyof Commands;
