// The screen of claims on answers that the engine gave once.
import { cleanup, render, screen, waitFor, within } from "@testing-library/svelte";
import userEvent from "@testing-library/user-event";
import axe from "axe-core";
import { afterEach, expect, it } from "vitest";
import type { Backend } from "../../lib/backend/backend";
import { emptyClaimForm, statementOf } from "../../lib/claims";
import { keeper } from "../../lib/kept.svelte";
import type { ClaimAdded } from "../../lib/types/ClaimAdded";
import type { ClaimForms } from "../../lib/types/ClaimForms";
import type { ClaimJudgement } from "../../lib/types/ClaimJudgement";
import type { ClaimList } from "../../lib/types/ClaimList";
import type { ClaimsRejudged } from "../../lib/types/ClaimsRejudged";
import type { DraftReport } from "../../lib/types/DraftReport";
import type { ProductList } from "../../lib/types/ProductList";
import { OPEN } from "../../test-answers";
import claimsJson from "../../test-fixtures/claims.json";
import productsJson from "../../test-fixtures/products.json";
import Claims from "../../views/Claims.svelte";

const forms: ClaimForms = claimsJson.claim_forms;
const judged: ClaimJudgement = claimsJson.judge_claim;
const claims: ClaimList = claimsJson.claims;
const added: ClaimAdded = claimsJson.add_claim;
const rejudged: ClaimsRejudged = claimsJson.rejudge_claims;
const draft: DraftReport = claimsJson.check_draft;
const list: ProductList = productsJson;

interface Call {
  command: string;
  request: unknown;
}

function open(changes: Partial<ClaimsRejudged> = {}): Call[] {
  const calls: Call[] = [];
  const answer = <T>(command: string, value: T) => {
    return (request: unknown): Promise<T> => {
      calls.push({ command, request: structuredClone(request) });
      return Promise.resolve(structuredClone(value));
    };
  };
  const backend = {
    claim_forms: answer("claim_forms", forms),
    judge_claim: answer("judge_claim", judged),
    claims: answer("claims", claims),
    add_claim: answer("add_claim", added),
    rejudge_claims: answer("rejudge_claims", { ...rejudged, ...changes }),
    withdraw_claim: answer("withdraw_claim", { id: 3, changed: true }),
    check_draft: answer("check_draft", draft),
  } as unknown as Backend;
  const route = { screen: "claims" } as const;
  render(Claims, { backend, status: OPEN, list, route, keep: keeper(), back: route });
  return calls;
}

const asked = (calls: Call[], command: string) =>
  calls.filter((it) => it.command === command).map((it) => it.request);

afterEach(() => {
  cleanup();
});

it("judges while the claim is written, and stores it", async () => {
  const user = userEvent.setup();
  const calls = open();
  await user.selectOptions(await screen.findByLabelText("Claim"), "typical");
  expect(screen.queryByText(judged.sentence)).toBeNull();
  await user.selectOptions(screen.getByLabelText("Product"), "hobnail-lane/welt-6");
  await user.type(screen.getByLabelText("from"), "200");
  await user.type(screen.getByLabelText("to below"), "500");
  await waitFor(() => {
    expect(asked(calls, "judge_claim").at(-1)).toMatchObject({
      claim: "typical product=hobnail-lane/welt-6 of=score band=200..500",
    });
  });
  const form = screen.getByRole("form", { name: "Write a claim" });
  expect(await within(form).findByText(judged.sentence)).toBeVisible();
  expect(within(form).getAllByText(judged.verdict)[0]).toBeVisible();
  await user.type(screen.getByLabelText("As you print it"), "It is ordinary.");
  await user.keyboard("{Control>}{Enter}{/Control}");
  await waitFor(() => {
    expect(asked(calls, "add_claim")).toHaveLength(1);
  });
  expect(asked(calls, "add_claim")[0]).toMatchObject({ wording: "It is ordinary." });
});

it("lists stored claims with a shape and a word, filters, sorts and opens them", async () => {
  const user = userEvent.setup();
  const calls = open();
  const table = await screen.findByRole("table");
  const standing = claims.claims.filter((it) => it.withdrawn_at === null);
  expect(within(table).getAllByRole("row")).toHaveLength(standing.length + 1);
  await user.click(screen.getByLabelText("withdrawn and replaced too"));
  expect(within(table).getAllByRole("row")).toHaveLength(claims.claims.length + 1);
  await user.selectOptions(screen.getByLabelText("Show"), "supported");
  const [first] = claims.claims;
  if (first === undefined) throw new Error("the fixture holds claims");
  await user.click(within(table).getByRole("button", { name: first.wording }));
  expect(within(table).getByText(first.sentence)).toBeVisible();
  await user.type(screen.getByLabelText("Reason"), "a slip");
  await user.click(screen.getByRole("button", { name: "Withdraw this claim" }));
  await waitFor(() => {
    expect(asked(calls, "withdraw_claim")).toEqual([{ id: first.id, reason: "a slip" }]);
  });
});

it("tells which change turned a verdict", async () => {
  const user = userEvent.setup();
  const change = {
    id: 3,
    statement: "x",
    wording: "",
    before: "supported",
    after: "contradicted",
    sentence: "Another is better.",
    causes: ["2026-11-25, record: cabinet.brace_count of a/b: 3, before 0"],
  };
  open({ changed: [change], judged: 2 });
  await user.click(await screen.findByRole("button", { name: "Judge all again" }));
  expect(await screen.findByText("Another is better.")).toBeVisible();
  expect(screen.getByText(/before 0/)).toBeVisible();
});

it("checks a draft that was pasted", async () => {
  const user = userEvent.setup();
  const calls = open();
  const text = screen.getByRole("textbox", { name: "Draft" });
  await user.click(text);
  await user.paste("It is the best.<!-- claim: best product=a/b -->");
  await user.keyboard("{Control>}{Enter}{/Control}");
  await screen.findByText(/Not fit to print/);
  expect(asked(calls, "check_draft")).toEqual([
    { text: "It is the best.<!-- claim: best product=a/b -->", seed: null },
  ]);
  for (const it of draft.claims) {
    expect(screen.getAllByText(`line ${String(it.line)}`)[0]).toBeVisible();
  }
});

it("has no violations that can be told without layout", async () => {
  open();
  await screen.findByRole("table");
  const report = await axe.run(document.body, {
    runOnly: ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"],
    rules: { "color-contrast": { enabled: false } },
  });
  expect(report.violations.map((it) => it.id)).toEqual([]);
});

it("writes the claim that was chosen", () => {
  const form = emptyClaimForm();
  expect(statementOf(form, forms)).toBeNull();
  form.product = "a/b";
  expect(statementOf(form, forms)).toBe("best product=a/b of=score");
  form.kind = "most";
  expect(statementOf(form, forms)).toBeNull();
  form.where.rows = [
    { of: "cabinet.brace_count", operator: "=", value: "0" },
    { of: "wiring.wire_material", operator: "!=", value: "this and that" },
  ];
  form.where.join = "or";
  form.population = "market";
  form.high = "500";
  expect(statementOf(form, forms)).toBe(
    "most where=\"cabinet.brace_count = 0 or wiring.wire_material != 'this and that'\" " +
      "population=market band=..500",
  );
  form.text = "  few where=x.y=1 ";
  expect(statementOf(form, forms)).toBe("few where=x.y=1");
});
