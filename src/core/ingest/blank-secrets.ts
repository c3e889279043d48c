/**
 * Takes secrets out of a post before it is kept and shown. Hubs put keys and passwords into bodies; nobody needs to see
 * them to mend a recipe. The shape of the text stays, so that it can still be read and replayed.
 */

/** `"password": "..."`, `token=...`: the names hubs and people give to secrets. */
const JSON_SECRET =
  /("(?:[\w-]*(?:password|passwd|secret|token|api[_-]?key|access[_-]?key|auth(?:orization)?|credential)[\w-]*|key|pass|pwd)"\s*:\s*)"(?:[^"\\]|\\.)*"/gi
const FORM_SECRET =
  /((?:^|[&?\s])(?:[\w-]*(?:password|passwd|secret|token|api[_-]?key|access[_-]?key|auth(?:orization)?|credential)[\w-]*|key|pass|pwd)=)[^&\s"']*/gi
/** A source key wherever it stands. */
const OWN_KEY = /bead_[a-km-np-z2-9]{60}/g

export function blankSecrets(text: string): string {
  return text.replace(OWN_KEY, '***').replace(JSON_SECRET, '$1"***"').replace(FORM_SECRET, '$1***')
}
