/** What the database gives back has the form that the code beside it wrote: the one place where that is believed. */

/** JSON that this project stored. Throws on anything that is not JSON. */
// oxlint-disable-next-line typescript/no-unnecessary-type-parameters -- the caller names what it stored
export function parseStored<T>(text: string): T {
  return JSON.parse(text)
}

/** The rows of one statement of a batch, in the form its columns have. */
// oxlint-disable-next-line typescript/no-unnecessary-type-parameters -- the caller names the columns it listed
export function rowsOf<T>(result: D1Result | undefined): readonly T[] {
  // oxlint-disable-next-line typescript/no-unsafe-type-assertion -- columns are listed in the statement
  return (result?.results ?? []) as readonly T[]
}
