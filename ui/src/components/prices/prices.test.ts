// Entering, correcting and withdrawing a price, and the prices drawn.
import { cleanup, render, screen, within } from "@testing-library/svelte";
import userEvent from "@testing-library/user-event";
import { afterEach, expect, it } from "vitest";
import { memoryBackend, type Call } from "../../lib/backend/memory";
import type { PriceHistory } from "../../lib/types/PriceHistory";
import { asAnswers } from "../../test-answers";
import readingJson from "../../test-fixtures/price_reading.json";
import pricesJson from "../../test-fixtures/prices.json";
import Prices from "../sheet/Prices.svelte";

const prices: PriceHistory = pricesJson;

afterEach(() => {
  cleanup();
});

async function open(): Promise<Call[]> {
  const calls: Call[] = [];
  const answers = asAnswers();
  const backend = memoryBackend(answers, calls);
  render(Prices, { backend, product: prices.product, list: answers.products });
  await screen.findByRole("form", { name: "Enter a price" });
  return calls;
}

it("reads a price while it is typed, and Enter saves it", async () => {
  const user = userEvent.setup();
  const calls = await open();
  await user.keyboard("{Alt>}p{/Alt}");
  expect(screen.getByLabelText("Price")).toHaveFocus();
  await user.keyboard("129 each");
  expect(await screen.findByText(readingJson.sentence)).toBeVisible();
  await user.keyboard("{Enter}");
  expect(calls.find((it) => it.command === "add_price")?.request).toMatchObject({
    product: prices.product,
    price: "129 each",
    date: prices.as_of,
    kind: "street",
    seller: "authorised",
    instead_of: null,
  });
  expect(screen.getByLabelText("Price")).toHaveValue("");
});

it("corrects and withdraws the very price of a row", async () => {
  const user = userEvent.setup();
  const calls = await open();
  const [row] = prices.rows;
  if (row === undefined) throw new Error("the fixture holds prices");
  const [, first] = within(screen.getByRole("table")).getAllByRole("row");
  if (first === undefined) throw new Error("a row");
  await user.click(within(first).getByRole("button", { name: /^Correct/ }));
  expect(screen.getByLabelText("Price")).toHaveValue(row.typed);
  expect(screen.getByLabelText("Day")).toHaveValue(row.date);
  await user.keyboard("{Enter}");
  expect(calls.find((it) => it.command === "add_price")?.request).toMatchObject({
    instead_of: { date: row.date, kind: row.kind, seller: row.seller, shop: row.shop },
  });
  await user.click(screen.getAllByRole("button", { name: /^Withdraw/ })[0] ?? document.body);
  expect(calls.find((it) => it.command === "withdraw_price")?.request).toMatchObject({
    product: prices.product,
    date: row.date,
    kind: row.kind,
  });
});

it("gives each price in the chart its sentence, and one stop for Tab", async () => {
  await open();
  const { chart } = prices;
  if (chart === null) throw new Error("the fixture holds a chart");
  const marks = within(screen.getByRole("group", { name: chart.description })).getAllByRole("img");
  expect(marks.map((it) => it.getAttribute("aria-label"))).toEqual(
    chart.marks.map((it) => it.sentence),
  );
  expect(marks.filter((it) => it.getAttribute("tabindex") === "0")).toHaveLength(1);
});
