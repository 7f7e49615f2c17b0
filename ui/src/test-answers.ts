// Answers that the engine gave once, for tests that need but a few of them.
import type { Status } from "./lib/backend/commands";
import type { Answers } from "./lib/backend/memory";
import bandJson from "./test-fixtures/band.json";
import bandsJson from "./test-fixtures/bands.json";
import compareJson from "./test-fixtures/compare.json";
import claimsJson from "./test-fixtures/claims.json";
import nextJson from "./test-fixtures/next.json";
import normalJson from "./test-fixtures/normal.json";
import notesJson from "./test-fixtures/notes.json";
import pluginsJson from "./test-fixtures/plugins.json";
import priceReadingJson from "./test-fixtures/price_reading.json";
import priceReportJson from "./test-fixtures/price_report.json";
import pricesJson from "./test-fixtures/prices.json";
import productsJson from "./test-fixtures/products.json";
import ranksJson from "./test-fixtures/ranks.json";
import sheetJson from "./test-fixtures/sheet.json";
import stabilityJson from "./test-fixtures/stability.json";
import whatIfJson from "./test-fixtures/what_if.json";

/** A catalogue that is open. */
export const OPEN: Status = {
  state: "ready",
  file: "seed.boxworth",
  version: "0.1.0",
  band: { low: 200, high: 500, kind: null },
  fault: null,
};

/** All answers, with some of them replaced. */
export function asAnswers(changes: Partial<Answers> = {}): Answers {
  return {
    status: OPEN,
    products: productsJson,
    notes: notesJson,
    sheets: [sheetJson],
    prices: pricesJson,
    price_reading: priceReadingJson,
    price_report: priceReportJson,
    band: bandJson,
    bands: bandsJson,
    compare: compareJson,
    ranks: ranksJson,
    stability: stabilityJson,
    next: nextJson,
    what_if: whatIfJson,
    normal: normalJson,
    plugins: pluginsJson,
    ...claimsJson,
    ...changes,
  };
}
