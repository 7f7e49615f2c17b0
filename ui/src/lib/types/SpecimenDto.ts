
export type SpecimenDto = { label: string, acquired: string, teardowns: Array<string>, };
