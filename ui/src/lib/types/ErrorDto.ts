
export type ErrorDto = { code: string, message: string, where: string | null, accepted: string | null, };
