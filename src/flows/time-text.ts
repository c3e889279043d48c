/** Unix seconds as RFC 3339 in UTC with whole seconds: the one form in which times come out. */
export function timeText(atS: number): string {
  return new Date(atS * 1000).toISOString().replace('.000Z', 'Z')
}
