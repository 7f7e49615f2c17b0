// What if: what is asked, what is shown, and where a refusal is said.
import { cleanup, render, screen, waitFor, within } from "@testing-library/svelte";
import userEvent from "@testing-library/user-event";
import { afterEach, expect, it } from "vitest";
import type { BandRequest } from "../lib/types/BandRequest";
import type { BandView } from "../lib/types/BandView";
import type { ErrorDto } from "../lib/types/ErrorDto";
import type { PlacedDto } from "../lib/types/PlacedDto";
import type { ProductSheet } from "../lib/types/ProductSheet";
import type { WhatIfReport } from "../lib/types/WhatIfReport";
import type { WhatIfRequest } from "../lib/types/WhatIfRequest";
import type { WhatIfView } from "../lib/types/WhatIfView";
import bandJson from "../test-fixtures/band.json";
import sheetJson from "../test-fixtures/sheet.json";
import whatIfJson from "../test-fixtures/what_if.json";
import Moved from "./Moved.svelte";
import WhatIf from "./WhatIf.svelte";

const view: BandView = bandJson;
const sheet: ProductSheet = sheetJson;
const answered: WhatIfView = whatIfJson;
/** A place such as a product of the band holds. */
function placed(of: number, place: number): PlacedDto {
  const it = view.report.standings[of];
  if (!it) throw new Error("the band has so many products");
  return {
    place,
    index: it.index,
    spread: it.spread,
    rank_low: 1,
    rank_high: 4,
    p_first: it.p_first,
    value: -3,
    real_pair: it.price.real_pair,
    on_frontier: it.on_frontier,
  };
}

const report: WhatIfReport = {
  ...answered.report,
  sentences: ["A B comes into the ranking, in place 2."],
  moved: [
    { product: "a/b", label: "A B", before: null, after: placed(0, 2) },
    { product: "c/d", label: "C D", before: placed(1, 2), after: placed(1, 3) },
  ],
};
const request: BandRequest = {
  low: 200,
  high: 300,
  kind: null,
  weights: null,
  draws: null,
  seed: null,
  kappa: null,
  threads: null,
};

/** The report with the picture of another one: what is drawn is tested beside the picture. */
const viewOf = (of: WhatIfReport): WhatIfView => ({ report: of, moves: answered.moves });

/** The panel on a backend that gives `answer`, or refuses with it; and what it was asked. */
function show(answer: WhatIfReport | ErrorDto): WhatIfRequest[] {
  const asked: WhatIfRequest[] = [];
  const what_if = (question: WhatIfRequest): Promise<WhatIfView> => {
    asked.push(structuredClone(question));
    // eslint-disable-next-line @typescript-eslint/prefer-promise-reject-errors -- the window rejects with plain objects too
    return "code" in answer ? Promise.reject(answer) : Promise.resolve(viewOf(answer));
  };
  const show = () => Promise.resolve(sheet);
  render(WhatIf, { backend: { what_if, show }, report: view.report, request });
  return asked;
}

const refusal = (where: string, message: string): ErrorDto => ({
  code: "bad_request",
  message,
  where,
  accepted: "a length such as 12 mm",
});

afterEach(() => {
  cleanup();
});

it("offers ranked products and those that are not, with what is missing of each", async () => {
  const user = userEvent.setup();
  show(report);
  const all = [...view.report.standings, ...view.report.not_ranked];
  const options = within(screen.getByLabelText("Product")).getAllByRole("option");
  expect(options).toHaveLength(all.length);
  const [unranked] = view.report.not_ranked;
  if (!unranked) throw new Error("the fixture has a product that is not ranked");
  await user.selectOptions(screen.getByLabelText("Product"), unranked.product);
  const list = screen.getByLabelText("Finding").getAttribute("list");
  const offered = [...document.querySelectorAll(`#${list ?? ""} option`)];
  // A network or a sweep is no finding that can be typed.
  const typed = unranked.missing.filter((it) => !/\.(parts|sweep)$/.test(it));
  expect(typed.length).toBeGreaterThan(0);
  expect(offered.map((it) => it.getAttribute("value"))).toEqual(typed);
});

it("asks with findings, evidence, price and weights as typed, from the keyboard alone", async () => {
  const user = userEvent.setup();
  const asked = show(report);
  await user.type(screen.getByLabelText("Finding"), "cabinet.wall_damping");
  await user.tab();
  await user.keyboard("damping sheet");
  await user.click(screen.getByRole("button", { name: "Another finding" }));
  const [, second] = screen.getAllByLabelText("Finding");
  const [, typed] = screen.getAllByLabelText("as typed");
  if (!second || !typed) throw new Error("a second row is there");
  await user.type(second, "woofer.fs");
  await user.type(typed, "48 Hz");
  await user.selectOptions(screen.getByLabelText("Evidence"), "inspected");
  await user.type(screen.getByLabelText("Price, if another"), "249");
  await user.click(screen.getByLabelText("Other weights"));
  await user.clear(screen.getByLabelText("Wiring"));
  await user.type(screen.getByLabelText("Wiring"), "20{Enter}");
  await waitFor(() => {
    expect(asked).toHaveLength(1);
  });
  expect(asked[0]).toMatchObject({
    product: view.report.standings[0]?.product,
    set: { "cabinet.wall_damping": "damping sheet", "woofer.fs": "48 Hz" },
    evidence: "inspected",
    price: "249",
    band: request,
  });
  expect(asked[0]?.weights?.["wiring"]).toBe(20);
});

it("asks for nothing that was left empty", async () => {
  const user = userEvent.setup();
  const asked = show(report);
  await user.click(screen.getByRole("button", { name: "Apply" }));
  expect(asked).toEqual([
    {
      product: view.report.standings[0]?.product,
      set: {},
      evidence: null,
      price: null,
      weights: null,
      band: request,
    },
  ]);
});

it("shows what moves before and after in words, and that nothing is saved", async () => {
  const user = userEvent.setup();
  show(report);
  await user.click(screen.getByRole("button", { name: "Apply" }));
  const table = await screen.findByRole("group", { name: "Standings before and after" });
  expect(within(table).getAllByRole("rowheader", { name: "before" })).toHaveLength(
    report.moved.length,
  );
  for (const it of report.moved) expect(table).toHaveTextContent(it.label);
  expect(screen.getByText("Nothing is saved.")).toBeVisible();
  expect(screen.getByRole("status")).toHaveTextContent(report.sentences.join(" "));
});

it("says so when nothing moves", () => {
  render(Moved, { view: viewOf({ ...report, moved: [], unmoved: 12 }) });
  expect(screen.getByText(/No standing moves; 12 products stay in place/)).toBeVisible();
  expect(screen.queryByRole("table")).not.toBeInTheDocument();
});

it("says which way each product goes in words", () => {
  const at = (place: number) => placed(0, place);
  const cases = [
    { before: at(4), after: at(2), word: "up 2" },
    { before: at(2), after: at(3), word: "down 1" },
    { before: at(2), after: at(2), word: "same place" },
    { before: null, after: at(2), word: "enters" },
    { before: at(2), after: null, word: "leaves" },
  ];
  const moved = cases.map(({ before, after, word }) => {
    return { product: word, label: word.toUpperCase(), before, after };
  });
  render(Moved, { view: viewOf({ ...report, moved }) });
  for (const { word } of cases) {
    expect(screen.getByRole("cell", { name: word })).toBeInTheDocument();
  }
  expect(screen.getAllByRole("cell", { name: "not ranked" })).toHaveLength(2);
});

it("says a refused finding at its own row, with the accepted form", async () => {
  const user = userEvent.setup();
  show(refusal("set", '"woofer.fs=much" is not understood'));
  await user.type(screen.getByLabelText("Finding"), "cabinet.wall_damping");
  await user.click(screen.getByRole("button", { name: "Another finding" }));
  const [first, second] = screen.getAllByLabelText("Finding");
  if (!first || !second) throw new Error("two rows are there");
  await user.type(second, "woofer.fs{Enter}");
  const alert = await screen.findByRole("alert");
  expect(alert).toHaveTextContent("a length such as 12 mm");
  expect(second).toBeInvalid();
  expect(second).toHaveAccessibleDescription(/is not understood/);
  expect(first).toBeValid();
});

it.each([
  ["price", "Price, if another"],
  ["evidence", "Evidence"],
])("says a refused %s at its field", async (where, label) => {
  const user = userEvent.setup();
  show(refusal(where, `"x" is no ${where}`));
  await user.click(screen.getByRole("button", { name: "Apply" }));
  expect(await screen.findByRole("alert")).toHaveTextContent(`"x" is no ${where}`);
  expect(screen.getByLabelText(label)).toBeInvalid();
  expect(screen.getByLabelText(label)).toHaveAccessibleDescription(/Accepted/);
});

it("says a change that changes nothing beside the button", async () => {
  const user = userEvent.setup();
  show(refusal("change", '"" changes nothing'));
  await user.click(screen.getByRole("button", { name: "Apply" }));
  expect(await screen.findByRole("alert")).toHaveTextContent("changes nothing");
  expect(screen.queryByRole("table")).not.toBeInTheDocument();
});

it("shows what is recorded now, offers it, and leads to where it is kept", async () => {
  const user = userEvent.setup();
  show(report);
  const [known] = sheet.findings;
  if (!known) throw new Error("the sheet has a finding");
  const field = screen.getByLabelText("Finding");
  await waitFor(() => {
    const offered = [...document.querySelectorAll("#if-missing option")];
    expect(offered.map((it) => it.getAttribute("value"))).toContain(known.address);
  });
  await user.type(field, known.address);
  const said = new RegExp(`now .*${known.shown}, ${known.evidence}`);
  expect(screen.getByText(said)).toBeVisible();
  await user.click(screen.getByRole("button", { name: "Apply" }));
  const keep = await screen.findByRole("link", { name: "Keep" });
  expect(keep.getAttribute("href")).toContain(report.product.split("/")[0] ?? "");
});
