import type { BandDto } from "./BandDto";
import type { BandStatistics } from "./BandStatistics";
import type { NotRanked } from "./NotRanked";
import type { PluginUsed } from "./PluginUsed";
import type { Remark } from "./Remark";
import type { Standing } from "./Standing";

export type BandReport = { band: BandDto, as_of: string, rubric: string, weights: { [key in string]: number }, plugins: Array<PluginUsed>, seed: number | null, draws: number, standings: Array<Standing>, not_ranked: Array<NotRanked>, statistics: BandStatistics, remarks: Array<Remark>, };
