import type { ElementDto } from "./ElementDto";
import type { FindingDto } from "./FindingDto";
import type { ObservedPrice } from "./ObservedPrice";
import type { ProductRow } from "./ProductRow";
import type { ProductScores } from "./ProductScores";
import type { QuantityDto } from "./QuantityDto";
import type { Remark } from "./Remark";
import type { SpecimenDto } from "./SpecimenDto";
import type { SweepDto } from "./SweepDto";

export type ProductSheet = { row: ProductRow, note: string, findings: Array<FindingDto>, quantities: Array<QuantityDto>, scores: ProductScores | null, prices: Array<ObservedPrice>, specimens: Array<SpecimenDto>, network: Array<ElementDto>, sweeps: Array<SweepDto>, missing: Array<string>, remarks: Array<Remark>, };
