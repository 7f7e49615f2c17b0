// The table of the standings, and what a row opens to.
import { cleanup, render, screen, within } from "@testing-library/svelte";
import userEvent from "@testing-library/user-event";
import { afterEach, expect, it } from "vitest";
import { chance, percent, score, signed } from "../lib/format";
import { ordered, rankText } from "../lib/standing";
import type { BandReport } from "../lib/types/BandReport";
import type { BandView } from "../lib/types/BandView";
import type { Standing } from "../lib/types/Standing";
import { few } from "../test-few";
import bandJson from "../test-fixtures/band.json";
import Standings from "./Standings.svelte";

const view: BandView = bandJson;

function show(report: BandReport): HTMLElement[] {
  render(Standings, {
    report,
    lit: null,
    onlit: () => undefined,
    pinned: [],
    onpin: () => undefined,
  });
  return screen.getAllByRole("row");
}

function first(report: BandReport): Standing {
  const [it] = report.standings;
  if (!it) throw new Error("the band has a product");
  return it;
}

function withFirst(changes: Partial<Standing>): BandReport {
  const [it, ...rest] = view.report.standings;
  if (!it) throw new Error("the band has a product");
  return { ...view.report, standings: [{ ...it, ...changes }, ...rest] };
}

const details = (it: Standing) => new RegExp(`what is behind ${it.maker} ${it.model}`);

afterEach(() => {
  cleanup();
});

it("always shows ranks, the index with its span, how often first, value and coverage", () => {
  const rows = show(view.report);
  view.report.standings.forEach((it, index) => {
    const row = rows[index + 1];
    expect(row).toHaveTextContent(rankText(it.rank));
    expect(row).toHaveTextContent(score(it.spread.low));
    expect(row).toHaveTextContent(score(it.spread.high));
    expect(row).toHaveTextContent(chance(it.p_first));
    expect(row).toHaveTextContent(chance(it.p_first_any));
    if (it.value_points) {
      expect(row).toHaveTextContent(signed(it.value_points.value));
      expect(row).toHaveTextContent(
        `${signed(it.value_points.low)} to ${signed(it.value_points.high)}`,
      );
    }
    expect(row).toHaveTextContent(percent(it.coverage_hard));
  });
});

it("opens a row by keyboard and closes it again", async () => {
  const user = userEvent.setup();
  const it = first(view.report);
  show(view.report);
  const button = screen.getByRole("button", { name: details(it) });
  expect(button).toHaveAttribute("aria-expanded", "false");
  button.focus();
  await user.keyboard("{Enter}");
  expect(button).toHaveAttribute("aria-expanded", "true");
  const opened = document.getElementById(button.getAttribute("aria-controls") ?? "");
  if (!opened) throw new Error("the row was not opened");
  for (const verdict of it.verdicts) expect(opened).toHaveTextContent(verdict.text);
  for (const doubt of it.doubts) expect(opened).toHaveTextContent(doubt.label);
  for (const [id, brings] of Object.entries(it.contributions)) {
    const line = within(opened).getByRole("rowheader", { name: new RegExp(`^${id}$`, "i") });
    expect(line.closest("tr")).toHaveTextContent(percent(brings.share));
    expect(line.closest("tr")).toHaveTextContent(score(brings.low));
  }
  expect(opened).toHaveTextContent(score(it.equal_weights.low));
  await user.keyboard(" ");
  expect(button).toHaveAttribute("aria-expanded", "false");
  expect(screen.queryByText("Where the index comes from")).not.toBeInTheDocument();
});

it("says what holds an index down, and who clearly beats it", async () => {
  const user = userEvent.setup();
  const rival = view.report.standings[1];
  const report = withFirst({
    caps: [{ limit: 40, text: "no crossover protects the tweeter" }],
    beaters: [{ product: rival?.product ?? "", p: 0.42 }],
    means: [
      { name: "weakest", value: 40 },
      { name: "geometric", value: 66.2 },
    ],
    central_weights: { cabinet: 0.7, driver: 0.3 },
  });
  show(report);
  await user.click(screen.getByRole("button", { name: details(first(report)) }));
  expect(screen.getByText(/no crossover protects the tweeter/)).toHaveTextContent("40.0");
  const name = `${rival?.maker ?? ""} ${rival?.model ?? ""}`;
  const links = screen.getAllByRole("link", { name });
  const beater = links.find((it) => it.closest("li"))?.closest("li");
  expect(beater).toHaveTextContent("42%");
  expect(screen.getByText("weakest 40.0, geometric 66.2")).toBeInTheDocument();
  expect(screen.getByText("cabinet 70%, driver 30%")).toBeInTheDocument();
});

it("says so when there is nothing to doubt, no beater, no mean and no weights", async () => {
  const user = userEvent.setup();
  const report = withFirst({
    doubts: [],
    beaters: [],
    missing: [],
    means: [],
    central_weights: null,
  });
  show(report);
  await user.click(screen.getByRole("button", { name: details(first(report)) }));
  expect(screen.getByText("Nothing that is known to matter.")).toBeInTheDocument();
  expect(screen.getByText(/No product of the band clearly beats it/)).toBeInTheDocument();
  expect(screen.getByText("none while findings are missing")).toBeInTheDocument();
  expect(screen.getByText("no weights put it first in these draws")).toBeInTheDocument();
});

it("speaks of no ranks with fewer than five, and of no value", () => {
  const { report } = ordered(few(view, 4));
  const rows = show(report);
  expect(rows).toHaveLength(5);
  expect(screen.queryByRole("columnheader", { name: "Rank" })).not.toBeInTheDocument();
  expect(screen.queryByRole("columnheader", { name: /First/ })).not.toBeInTheDocument();
  expect(screen.getByText(/the order is that of price/)).toBeInTheDocument();
  expect(screen.getAllByText("not judged")).toHaveLength(4);
});
