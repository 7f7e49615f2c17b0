// Answers kept in memory, for tests: what the real engine said once, handed out again.
import type { BandView } from "../types/BandView";
import type { BandsReport } from "../types/BandsReport";
import type { CompareReport } from "../types/CompareReport";
import type { ClaimAdded } from "../types/ClaimAdded";
import type { ClaimForms } from "../types/ClaimForms";
import type { ClaimJudgement } from "../types/ClaimJudgement";
import type { ClaimList } from "../types/ClaimList";
import type { ClaimWithdrawn } from "../types/ClaimWithdrawn";
import type { ClaimsRejudged } from "../types/ClaimsRejudged";
import type { DraftReport } from "../types/DraftReport";
import type { EditionList } from "../types/EditionList";
import type { NetworkReport } from "../types/NetworkReport";
import type { Judgement } from "../types/Judgement";
import type { NextReport } from "../types/NextReport";
import type { NormalReport } from "../types/NormalReport";
import type { PluginList } from "../types/PluginList";
import type { PriceHistory } from "../types/PriceHistory";
import type { PriceReading } from "../types/PriceReading";
import type { PriceReport } from "../types/PriceReport";
import type { ProductNotes } from "../types/ProductNotes";
import type { ProductList } from "../types/ProductList";
import type { ProductSheet } from "../types/ProductSheet";
import type { RankView } from "../types/RankView";
import type { Publication } from "../types/Publication";
import type { PublicationPreview } from "../types/PublicationPreview";
import type { StabilityReport } from "../types/StabilityReport";
import type { SweepReport } from "../types/SweepReport";
import type { WhatIfView } from "../types/WhatIfView";
import type { Backend } from "./backend";
import type { Command, Status } from "./commands";

export interface Answers {
  status: Status;
  products: ProductList;
  sheets: ProductSheet[];
  notes?: ProductNotes;
  prices?: PriceHistory;
  price_reading?: PriceReading;
  price_report?: PriceReport;
  band: BandView;
  bands: BandsReport;
  compare: CompareReport;
  ranks: RankView;
  stability: StabilityReport;
  next: NextReport;
  what_if: WhatIfView;
  normal: NormalReport;
  network?: NetworkReport;
  sweep?: SweepReport;
  plugins: PluginList;
  judgement?: Judgement;
  claim_forms?: ClaimForms;
  judge_claim?: ClaimJudgement;
  claims?: ClaimList;
  add_claim?: ClaimAdded;
  rejudge_claims?: ClaimsRejudged;
  withdraw_claim?: ClaimWithdrawn;
  check_draft?: DraftReport;
  /** What a test answers itself, for commands that change something. */
  own?: Partial<Backend>;
  preview_publication?: PublicationPreview;
  publication?: Publication;
  editions?: EditionList;
}

/** A call that was made. */
export interface Call {
  command: Command;
  request: unknown;
}

/** A backend that knows `answers`, and writes each call down in `calls`. */
export function memoryBackend(answers: Answers, calls: Call[] = []): Backend {
  const answer = <T>(command: Command, value: T) => {
    return (request: unknown): Promise<T> => {
      calls.push({ command, request });
      return Promise.resolve(structuredClone(value));
    };
  };
  /** What only some tests need. */
  const perhaps = <T>(command: Command, value: T | undefined) => {
    return (request: unknown): Promise<T> => {
      if (value !== undefined) return answer(command, value)(request);
      calls.push({ command, request });
      const message = `this test has no answer to \`${command}\``;
      return Promise.reject(new Error(message));
    };
  };
  const refused = (message: string): Promise<never> =>
    // eslint-disable-next-line @typescript-eslint/prefer-promise-reject-errors -- the window rejects with plain objects too
    Promise.reject({ code: "not_found", message, where: "", accepted: "" });
  const own = <C extends Command>(command: C): Backend[C] => {
    const given = answers.own?.[command];
    return ((request: never) => {
      calls.push({ command, request });
      return given ? given(request) : refused(`nothing is kept for ${command}`);
    }) as Backend[C];
  };
  return {
    attend: answer("attend", null),
    announce: () => {
      calls.push({ command: "announce", request: {} });
      return Promise.resolve(calls.length);
    },
    cancel: answer("cancel", null),
    recent: answer("recent", [] as string[]),
    catalogue_new: own("catalogue_new"),
    catalogue_open: own("catalogue_open"),
    catalogue_seed: own("catalogue_seed"),
    choose: answer("choose", null),
    import: own("import"),
    judgement: perhaps("judgement", answers.judgement),
    rubric_set: own("rubric_set"),
    rubric_reset: own("rubric_reset"),
    plugin_look: own("plugin_look"),
    plugin_trust: own("plugin_trust"),
    plugin_revoke: own("plugin_revoke"),
    plugin_release: own("plugin_release"),
    plugin_check: own("plugin_check"),
    status: answer("status", answers.status),
    products: answer("products", answers.products),
    notes: perhaps("notes", answers.notes),
    prices: perhaps("prices", answers.prices),
    read_price: perhaps("read_price", answers.price_reading),
    add_price: perhaps("add_price", answers.price_report),
    withdraw_price: perhaps("withdraw_price", answers.price_report),
    band: answer("band", answers.band),
    bands: answer("bands", answers.bands),
    compare: answer("compare", answers.compare),
    ranks: answer("ranks", answers.ranks),
    stability: answer("stability", answers.stability),
    next: answer("next", answers.next),
    what_if: answer("what_if", answers.what_if),
    normal: answer("normal", answers.normal),
    sweep: perhaps("sweep", answers.sweep),
    photos: answers.own?.photos
      ? own("photos")
      : answer("photos", { product: "", photos: [], folder: "", accepted: "", most_bytes: 0 }),
    photo: own("photo"),
    add_photo: own("add_photo"),
    edit_photo: own("edit_photo"),
    network: perhaps("network", answers.network),
    plugins: answer("plugins", answers.plugins),
    claim_forms: perhaps("claim_forms", answers.claim_forms),
    judge_claim: perhaps("judge_claim", answers.judge_claim),
    claims: perhaps("claims", answers.claims),
    add_claim: perhaps("add_claim", answers.add_claim),
    rejudge_claims: perhaps("rejudge_claims", answers.rejudge_claims),
    withdraw_claim: perhaps("withdraw_claim", answers.withdraw_claim),
    check_draft: perhaps("check_draft", answers.check_draft),
    add_product: own("add_product"),
    add_specimen: own("add_specimen"),
    add_teardown: own("add_teardown"),
    bench: own("bench"),
    read_finding: own("read_finding"),
    save_finding: own("save_finding"),
    history: own("history"),
    undo: own("undo"),
    redo: own("redo"),
    preview_publication: perhaps("preview_publication", answers.preview_publication),
    publish: perhaps("publish", answers.publication),
    reproduce: perhaps("reproduce", answers.publication),
    editions: perhaps("editions", answers.editions),
    read_definition: own("read_definition"),
    show: (request) => {
      calls.push({ command: "show", request });
      const sheet = answers.sheets.find((it) => it.row.product === request.product);
      if (sheet !== undefined) {
        return Promise.resolve(structuredClone(sheet));
      }
      return refused(`no product \`${request.product}\``);
    },
  };
}
