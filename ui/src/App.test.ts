// The whole page on answers that the engine gave once.
import { cleanup, render, screen, waitFor, within } from "@testing-library/svelte";
import userEvent from "@testing-library/user-event";
import axe from "axe-core";
import { afterEach, beforeAll, beforeEach, expect, it } from "vitest";
import App from "./App.svelte";
import { memoryBackend, type Answers, type Call } from "./lib/backend/memory";
import { score } from "./lib/format";
import { SCREENS } from "./lib/screens";
import type { BandView } from "./lib/types/BandView";
import type { ProductList } from "./lib/types/ProductList";
import type { ProductSheet } from "./lib/types/ProductSheet";
import type { CompareReport } from "./lib/types/CompareReport";
import type { StabilityReport } from "./lib/types/StabilityReport";
import type { WhatIfView } from "./lib/types/WhatIfView";
import { asAnswers, OPEN } from "./test-answers";
import { few } from "./test-few";
import bandJson from "./test-fixtures/band.json";
import compareJson from "./test-fixtures/compare.json";
import productsJson from "./test-fixtures/products.json";
import ranksJson from "./test-fixtures/ranks.json";
import sheetJson from "./test-fixtures/sheet.json";
import stabilityJson from "./test-fixtures/stability.json";
import whatIfJson from "./test-fixtures/what_if.json";

const band: BandView = bandJson;
const products: ProductList = productsJson;
const sheet: ProductSheet = sheetJson;
const compare: CompareReport = compareJson;
const stability: StabilityReport = stabilityJson;
const what_if: WhatIfView = whatIfJson;

function answers(changes: Partial<Answers> = {}): Answers {
  return asAnswers(changes);
}

function open(hash: string, changes: Partial<Answers> = {}): Call[] {
  location.hash = hash;
  const calls: Call[] = [];
  render(App, { backend: memoryBackend(answers(changes), calls) });
  return calls;
}

/** The violations that can be told without layout; contrast and sizes are measured in the real window. */
async function violations(): Promise<string[]> {
  const report = await axe.run(document.body, {
    runOnly: ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"],
    rules: { "color-contrast": { enabled: false } },
  });
  return report.violations.map((it) => `${it.id}: ${it.nodes.map((node) => node.html).join(" ")}`);
}

/** The marks of products; brackets between them are buttons, too. */
const marksOf = (plot: HTMLElement) =>
  within(plot)
    .getAllByRole("button")
    .filter((it) => it.classList.contains("mark"));

/** Opens a closed part of the band's screen at its heading. */
async function openPart(user: ReturnType<typeof userEvent.setup>, name: RegExp): Promise<void> {
  await user.click(within(screen.getByRole("heading", { name })).getByRole("button"));
}

// All screens are compiled here, which takes a loaded machine longer than a test may.
beforeAll(async () => {
  await Promise.all(Object.values(SCREENS).map((it) => it.load()));
}, 120_000);
beforeEach(() => {
  location.hash = "";
});
afterEach(() => {
  cleanup();
});

it("opens on the standings of the band", async () => {
  const calls = open("");
  const table = await screen.findByRole("group", { name: "Standings" });
  const [, first] = within(table).getAllByRole("row");
  const [standing] = band.report.standings;
  expect(first).toHaveTextContent(standing?.model ?? "no standing");
  expect(first).toHaveTextContent(score(standing?.index.low ?? NaN));
  expect(within(table).getAllByRole("row")).toHaveLength(band.report.standings.length + 1);
  expect(calls.find((it) => it.command === "band")?.request).toEqual({
    low: 200,
    high: 500,
    kind: null,
    weights: null,
    draws: null,
    seed: null,
    kappa: null,
    threads: null,
  });
});

it("gives each mark its sentence, and one stop for Tab in each chart", async () => {
  const user = userEvent.setup();
  open("#/band");
  // The whole answer; the ranks come before it, with less to say.
  await screen.findByRole("group", { name: "Standings" });
  const plot = screen.getByRole("group", { name: band.dots.description });
  const marks = marksOf(plot);
  expect(marks.map((it) => it.getAttribute("aria-label"))).toEqual(
    band.dots.rows.map((it) => it.sentence),
  );
  expect(marks.filter((it) => it.getAttribute("tabindex") === "0")).toHaveLength(1);
  marks[0]?.focus();
  await user.keyboard("{ArrowDown}");
  expect(marks[1]).toHaveFocus();
  await user.keyboard("{Enter}");
  const key = band.dots.rows[1]?.product ?? "";
  expect(location.hash).toBe(`#/product/${key}`);
});

it("asks for a new band on Enter and on leaving a field, and not for nonsense", async () => {
  const user = userEvent.setup();
  const calls = open("#/band");
  await screen.findByRole("group", { name: "Standings" });
  const asked = () => calls.filter((it) => it.command === "band").map((it) => it.request);
  const before = asked().length;
  const low = screen.getByLabelText("From");
  await user.clear(low);
  await user.type(low, "x");
  await user.keyboard("{Enter}");
  expect(low).toBeInvalid();
  expect(asked()).toHaveLength(before);
  await user.clear(low);
  await user.type(low, "300{Enter}");
  expect(asked().at(-1)).toMatchObject({ low: 300, high: 500 });
  const high = screen.getByLabelText("to below");
  await user.clear(high);
  await user.tab();
  expect(asked().at(-1)).toMatchObject({ low: 300, high: null });
  expect(asked()).toHaveLength(before + 2);
});

it("ranks again with other weights, and what is opened follows", async () => {
  const user = userEvent.setup();
  const calls = open("#/band");
  await screen.findByRole("group", { name: "Standings" });
  const asked = (command: Call["command"]) =>
    calls.filter((it) => it.command === command).map((it) => it.request);
  expect(asked("stability")).toHaveLength(0);
  await openPart(user, /Robustness/);
  await screen.findByText(stability.sentences[0] ?? "no sentence");
  await user.click(screen.getByRole("button", { name: "Count alike" }));
  const [subsystem = ""] = Object.keys(band.report.weights);
  await waitFor(() => {
    const latest = asked("band").at(-1) as { weights: Record<string, number> };
    expect(new Set(Object.values(latest.weights)).size).toBe(1);
    expect(latest.weights).toHaveProperty(subsystem);
    expect(asked("stability").at(-1)).toEqual(latest);
  });
  await user.click(screen.getByRole("button", { name: "Back to the catalogue's" }));
  await waitFor(() => {
    expect(asked("band").at(-1)).toMatchObject({ weights: null });
  });
});

it("states seed, draws and limits, and claims no certainty that the draws do not give", async () => {
  const user = userEvent.setup();
  open("#/band");
  await screen.findByRole("group", { name: "Standings" });
  await openPart(user, /^Method/);
  const method = screen.getByRole("heading", { name: "Method" }).closest("section");
  expect(method).toHaveTextContent(`seed ${String(band.report.seed)}`);
  expect(method).toHaveTextContent(new Intl.NumberFormat("en").format(band.report.draws));
  expect(document.body).not.toHaveTextContent("uncertainty of measurements is not in it");
  // What is not said has its number, and what stands in its place.
  for (const it of band.report.instead) expect(method).toHaveTextContent(it.shown);
  expect(band.report.instead.length).toBeGreaterThan(0);
});

it("jumps to a section and takes the focus there", async () => {
  const user = userEvent.setup();
  open("#/band");
  const nav = await screen.findByRole("navigation", { name: "On this screen" });
  // It is closed, and opens on the way.
  expect(screen.queryByRole("group", { name: "Subsystems side by side" })).toBeNull();
  await user.click(within(nav).getByRole("button", { name: "Subsystems" }));
  await waitFor(() => {
    expect(screen.getByRole("heading", { name: "Subsystems side by side" })).toHaveFocus();
  });
  expect(screen.getByRole("group", { name: "Subsystems side by side" })).toBeVisible();
});

it("speaks of no ranks with fewer than five products", async () => {
  const small = few(band, 3);
  open("#/band", { band: small });
  await screen.findByText(/3 products can be ranked; rank words need at least/);
  expect(screen.queryByRole("heading", { name: band.strip.title })).not.toBeInTheDocument();
  expect(screen.queryByText("Not everything was scored")).not.toBeInTheDocument();
  const table = screen.getByRole("group", { name: "Standings" });
  const prices = small.report.standings.map((it) => it.price.real_pair).sort((a, b) => a - b);
  const [, first] = within(table).getAllByRole("row");
  const cheapest = small.report.standings.find((it) => it.price.real_pair === prices[0]);
  expect(first).toHaveTextContent(cheapest?.model ?? "no product");
});

it("still says what to do next when nothing can be ranked", async () => {
  open("#/band", { band: few(band, 0) });
  expect(await screen.findByText(/can be ranked. Widen the band/)).toBeVisible();
  expect(screen.getByRole("heading", { name: "What to do next" })).toBeVisible();
  expect(screen.getByRole("heading", { name: "What if" })).toBeVisible();
  expect(screen.queryByRole("heading", { name: "Standings" })).not.toBeInTheDocument();
});

it("says what was not ranked, why and what is missing", async () => {
  const user = userEvent.setup();
  open("#/band");
  await screen.findByRole("group", { name: "Standings" });
  await openPart(user, /not ranked/);
  const table = await screen.findByRole("group", { name: "In the band, not ranked" });
  for (const it of band.report.not_ranked) {
    expect(table).toHaveTextContent(it.why);
  }
  expect(within(table).getAllByRole("row")).toHaveLength(band.report.not_ranked.length + 1);
});

it("tells when not everything was scored", async () => {
  const text = "The plugin stopped while it scored one product.";
  const remark = { source: "boxworth", code: "plugin_failed", severity: "warning", text };
  open("#/band", { band: { ...band, report: { ...band.report, remarks: [remark] } } });
  expect(await screen.findByText(text, { exact: false })).toBeVisible();
});

it("filters the catalogue, opens a sheet and comes back, by keyboard alone", async () => {
  const user = userEvent.setup();
  open("#/catalogue");
  const filter = await screen.findByLabelText("Filter");
  await user.keyboard("{Control>}f{/Control}");
  expect(filter).toHaveFocus();
  await user.type(filter, `${sheet.row.maker} ${sheet.row.model}`);
  expect(
    screen
      .getAllByRole("status")
      .map((it) => it.textContent)
      .join(),
  ).toMatch(/1 of \d+ products/);
  await user.keyboard("{ArrowDown}");
  expect(document.activeElement).toHaveAttribute("href", `#/product/${sheet.row.product}`);
  await user.keyboard("{Enter}");
  await screen.findByRole("heading", { name: "Findings" });
  const shown = sheet.findings.map((it) => it.address);
  for (const address of shown.slice(0, 5))
    expect(screen.getAllByText(address)[0]).toBeInTheDocument();
  await user.keyboard("{Escape}");
  await waitFor(() => {
    expect(screen.getByLabelText("Filter")).toHaveValue(`${sheet.row.maker} ${sheet.row.model}`);
  });
});

it("sorts by a column and says so", async () => {
  const user = userEvent.setup();
  open("#/catalogue");
  const head = await screen.findByRole("button", { name: "Real price" });
  await user.click(head);
  await user.click(head);
  const column = screen.getByRole("columnheader", { name: "Real price" });
  expect(column).toHaveAttribute("aria-sort", "descending");
  const dearest = [...products.products].sort(
    (a, b) => (b.price?.real_pair ?? 0) - (a.price?.real_pair ?? 0),
  )[0];
  const [, first] = screen.getAllByRole("row");
  expect(first).toHaveTextContent(dearest?.model ?? "no product");
});

it("teaches when there is no catalogue", async () => {
  const status = { ...OPEN, state: "absent", file: "none.boxworth" } as const;
  open("", { status });
  expect(await screen.findByRole("heading", { level: 1 })).toHaveTextContent("No catalogue yet");
  expect(screen.getByText("boxworth new none.boxworth")).toBeVisible();
  expect(screen.getByText("boxworth --catalogue none.boxworth import FOLDER")).toBeVisible();
  expect(await violations()).toEqual([]);
});

it("shows the engine's sentence when the file is refused", async () => {
  const fault = {
    code: "newer_file",
    message: "Made by a newer version.",
    where: "",
    accepted: "",
  };
  open("", { status: { ...OPEN, state: "refused", file: "n.boxworth", fault } });
  expect(await screen.findByRole("alert")).toHaveTextContent("Made by a newer version.");
});

it("says so when a product is not there", async () => {
  open("#/product/no/such");
  expect(await screen.findByRole("alert")).toHaveTextContent("no product `no/such`");
});

it("changes the screen with Alt and a digit", async () => {
  const user = userEvent.setup();
  open("#/band");
  await screen.findByRole("heading", { name: "Price band" });
  await user.keyboard("{Alt>}1{/Alt}");
  expect(await screen.findByRole("heading", { name: "Catalogue" })).toHaveFocus();
  await user.keyboard("{Alt>}3{/Alt}");
  expect(await screen.findByRole("heading", { name: "Price band" })).toHaveFocus();
});

it("reads the catalogue again when the window is returned to", async () => {
  const calls = open("#/catalogue");
  await screen.findByLabelText("Filter");
  const before = calls.filter((it) => it.command === "products").length;
  window.dispatchEvent(new Event("focus"));
  await waitFor(() => {
    expect(calls.filter((it) => it.command === "products").length).toBeGreaterThan(before);
  });
});

it("keeps nothing that was typed for one catalogue when another is opened", async () => {
  const user = userEvent.setup();
  let file = "seed.boxworth";
  const status = () => Promise.resolve({ ...OPEN, file });
  location.hash = "#/catalogue";
  const backend = memoryBackend(answers());
  render(App, { backend: { ...backend, status } });
  await user.type(await screen.findByLabelText("Filter"), "no such");
  await screen.findByText(/Nothing matches/);
  // The same file, looked at again, keeps it.
  window.dispatchEvent(new Event("focus"));
  await user.keyboard("{Alt>}3{/Alt}");
  await screen.findByRole("group", { name: "Standings" });
  await user.keyboard("{Alt>}1{/Alt}");
  expect(await screen.findByLabelText("Filter")).toHaveValue("no such");
  file = "other.boxworth";
  window.dispatchEvent(new Event("focus"));
  await waitFor(() => {
    expect(screen.getByLabelText("Filter")).toHaveValue("");
  });
  expect(screen.queryByText(/Nothing matches/)).toBeNull();
});

it("has no fault that axe can tell with everything opened", async () => {
  const user = userEvent.setup();
  // A small band: the walk through the whole page takes long.
  open("#/band", { band: few(band, 6) });
  await screen.findByRole("group", { name: "Standings" });
  const [behind] = screen.getAllByRole("button", { name: /what is behind/ });
  if (behind) await user.click(behind);
  for (const title of [
    /Robustness/,
    /What if/,
    /What to do next/,
    /What is normal/,
    /Subsystems/,
  ]) {
    await openPart(user, title);
  }
  await user.click(screen.getByRole("button", { name: "Apply" }));
  await screen.findAllByText(what_if.report.sentences[0] ?? "no sentence");
  await screen.findByRole("group", { name: "Usual numbers" });
  expect(await violations()).toEqual([]);
});

it.each(["#/band", "#/catalogue", `#/product/${sheet.row.product}`])(
  "has no fault that axe can tell at %s",
  async (hash) => {
    open(hash);
    await screen.findAllByRole("table");
    expect(await violations()).toEqual([]);
  },
);

it("pins the product that has the focus, and puts the pinned side by side", async () => {
  const user = userEvent.setup();
  const calls = open("#/band");
  const plot = await screen.findByRole("group", { name: band.dots.description });
  const [first, second] = marksOf(plot);
  const keys = compare.products.slice(0, 2).map((it) => it.product);
  first?.focus();
  await user.keyboard("p");
  second?.focus();
  await user.keyboard("p");
  const pinned = screen.getByRole("complementary", { name: "Pinned products" });
  expect(within(pinned).getAllByRole("listitem")).toHaveLength(2);
  await user.keyboard("c");
  expect(location.hash).toBe("#/band?section=compare");
  await screen.findByRole("heading", { name: "Side by side" });
  await screen.findByRole("group", { name: "Side by side" });
  expect(calls.find((it) => it.command === "compare")?.request).toMatchObject({ products: keys });
  expect(await violations()).toEqual([]);
});

it("takes the band from the address", async () => {
  const calls = open("#/band?band=300..800");
  await screen.findByRole("group", { name: "Standings" });
  const asked = calls.filter((it) => it.command === "band").map((it) => it.request);
  expect(asked).toHaveLength(1);
  expect(asked[0]).toMatchObject({ low: 300, high: 800 });
  expect(screen.getByLabelText("From")).toHaveValue("300");
});

it("shows who is in the band while it is scored", async () => {
  location.hash = "#/band";
  const backend = memoryBackend(answers());
  const never = () => new Promise<never>(() => undefined);
  render(App, { backend: { ...backend, band: never, ranks: never } });
  expect(await screen.findByText(/^Scoring \d+ products of the band/)).toBeVisible();
  const inside = products.products.filter(
    (it) => !it.powered && it.price && it.price.real_pair >= 200 && it.price.real_pair < 500,
  );
  expect(screen.getByText(`Scoring ${String(inside.length)} products of the band…`)).toBeVisible();
  for (const it of inside) expect(document.body).toHaveTextContent(`${it.maker} ${it.model}`);
});

it("shows the ranks of the first band before the rest of its answer", async () => {
  location.hash = "#/band";
  const backend = memoryBackend(answers());
  render(App, { backend: { ...backend, band: () => new Promise(() => undefined) } });
  expect(await screen.findByText("Value and verdicts follow…")).toBeVisible();
  const rows = ranksJson.report.rows;
  expect(
    screen.getByText(`${String(rows.length)} products ranked; value and verdicts follow`),
  ).toBeInTheDocument();
  for (const it of rows) expect(document.body).toHaveTextContent(it.label);
  expect(await violations()).toEqual([]);
});
