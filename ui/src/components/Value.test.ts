// Value for money, with enough products and with too few.
import { cleanup, render, screen, within } from "@testing-library/svelte";
import { afterEach, expect, it } from "vitest";
import { signed } from "../lib/format";
import type { BandReport } from "../lib/types/BandReport";
import type { BandView } from "../lib/types/BandView";
import { few } from "../test-few";
import bandJson from "../test-fixtures/band.json";
import Statistics from "./Statistics.svelte";
import Value from "./Value.svelte";

const view: BandView = bandJson;

function supported(report: BandReport): string[] {
  return report.standings.flatMap((it) =>
    it.verdicts.filter((of) => of.verdict === "supported").map((of) => of.text),
  );
}

afterEach(() => {
  cleanup();
});

it("says what a price buys, and each product's value with its interval and verdicts", () => {
  render(Value, { report: view.report });
  expect(screen.getByText(view.report.curve?.text ?? "no curve")).toBeInTheDocument();
  const rows = within(screen.getByRole("group", { name: "Value for money" })).getAllByRole("row");
  view.report.standings.forEach((it, index) => {
    const row = rows[index + 1];
    expect(row).toHaveTextContent(it.model);
    expect(row).toHaveTextContent(signed(it.value_points?.value ?? NaN));
    for (const verdict of it.verdicts) expect(row).toHaveTextContent(verdict.verdict);
  });
});

it("lists the sentences that may be printed, and no others", () => {
  render(Value, { report: view.report });
  const shown = screen.queryAllByRole("listitem").map((it) => it.textContent);
  expect(shown).toEqual(supported(view.report));
});

it("says so when nothing is supported", () => {
  const standings = view.report.standings.map((it) => ({
    ...it,
    verdicts: it.verdicts.map((of) => ({ ...of, verdict: "not supported" })),
  }));
  render(Value, { report: { ...view.report, standings } });
  expect(screen.queryAllByRole("listitem")).toHaveLength(0);
  expect(screen.getByText(/No statement about value for money is supported/)).toBeInTheDocument();
});

it("shows index and price alone with fewer than five", () => {
  const { report } = few(view, 3);
  render(Value, { report });
  expect(screen.getByText(/too few to say what a price usually buys/)).toBeInTheDocument();
  expect(screen.getAllByText("not judged")).toHaveLength(3);
});

it("says with fewer than eight that the words cannot be judged, and keeps the flat expectation", () => {
  const { report } = few(view, 7);
  render(Value, { report });
  expect(screen.getByText(report.curve?.text ?? "no curve")).toBeInTheDocument();
  expect(screen.getAllByText("too few data")).toHaveLength(
    report.standings.reduce((sum, it) => sum + it.verdicts.length, 0),
  );
  expect(screen.getByText(/No statement about value for money is supported/)).toBeInTheDocument();
});

it("gives quartiles with the interval of the median, and what rises with the price", () => {
  render(Statistics, { report: view.report });
  expect(screen.getByRole("columnheader", { name: "Median, 90% interval" })).toBeInTheDocument();
  for (const it of view.report.statistics.associations)
    expect(screen.getByText(it.text, { exact: false })).toBeInTheDocument();
});

it("leaves quartiles out with fewer than eight, and statements about price with fewer than five", () => {
  render(Statistics, { report: few(view, 7).report });
  expect(screen.getByText(/too few for quartiles/)).toBeInTheDocument();
  expect(screen.queryByRole("table")).not.toBeInTheDocument();
  cleanup();
  render(Statistics, { report: few(view, 3).report });
  expect(screen.queryAllByRole("listitem")).toHaveLength(0);
});
