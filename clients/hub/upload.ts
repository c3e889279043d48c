/**
 * Uploads a CSV file of readings.
 *   npm run -s upload -- --key KEY [--url URL] [--restart] FILE
 * Interrupted, it goes on where it stopped: what was acknowledged is noted beside the file, in FILE.upload.
 */
import {
  createReadStream,
  existsSync,
  readFileSync,
  renameSync,
  rmSync,
  statSync,
  writeFileSync,
} from 'node:fs'
import { parseArgs } from 'node:util'
import { cutCsv, RECORDS_PER_POST, RECORDS_PER_SMALL_POST, type CsvPost } from './csv-posts.ts'
import type { Answer } from './answer.ts'
import { sendPost, type Sent, type Target } from './send.ts'

const usage = 'usage: npm run -s upload -- --key KEY [--url http://localhost:8787] [--restart] FILE'
const ATTEMPTS_MAX = 12
const WAIT_MAX_MS = 60_000

/** While the service is at work on one post, the next is cut and sent. More would only queue there. */
const UNDER_WAY_MAX = 2
type UnderWay = { readonly post: CsvPost; readonly sent: Promise<Answer> }

type Note = { readonly fileBytes: number; readonly doneBytes: number }

type Summary = { records: number; stored: number; repeated: number; setAside: number; posts: number }

async function main(): Promise<number> {
  const { values, positionals } = parseArgs({
    allowPositionals: true,
    options: {
      url: { type: 'string', default: 'http://localhost:8787' },
      key: { type: 'string' },
      restart: { type: 'boolean', default: false },
    },
  })
  const [file] = positionals
  if (file === undefined || values.key === undefined) throw new Error(usage)
  const noteFile = `${file}.upload`
  if (values.restart) rmSync(noteFile, { force: true })
  const upload = { target: { origin: new URL(values.url).origin, key: values.key }, file, noteFile }
  const summary: Summary = { records: 0, stored: 0, repeated: 0, setAside: 0, posts: 0 }
  try {
    await send(upload, RECORDS_PER_POST, summary)
  } catch (error) {
    if (!(error instanceof TooManyRecords)) throw error
    console.error(`this service takes smaller posts: ${RECORDS_PER_SMALL_POST} records each from here on`)
    await send(upload, RECORDS_PER_SMALL_POST, summary)
  }
  rmSync(noteFile, { force: true })
  console.log(JSON.stringify(summary))
  return summary.setAside === 0 ? 0 : 1
}

type Upload = { readonly target: Target; readonly file: string; readonly noteFile: string }

/** From where the note says, to the end of the file. */
async function send(
  { target, file, noteFile }: Upload,
  recordsPerPost: number,
  summary: Summary,
): Promise<void> {
  const fileBytes = statSync(file).size
  const skipBytes = await doneBefore(noteFile, fileBytes)
  if (skipBytes > 0) console.error(`going on behind byte ${skipBytes} of ${fileBytes}`)
  const settle = async ({ post, sent }: UnderWay): Promise<void> => {
    const answer = await sent
    add(summary, answer)
    report(post, answer)
    writeNote(noteFile, { fileBytes, doneBytes: post.endsAtByte })
    console.error(`${Math.floor((100 * post.endsAtByte) / fileBytes)} % ${summary.records} records`)
  }
  const underWay: UnderWay[] = []
  const text = createReadStream(file, { encoding: 'utf8' })
  for await (const post of cutCsv(text, { skipBytes, recordsPerPost })) {
    const sent = sendUntilTaken(target, post)
    // Heard of in its turn.
    sent.catch(() => undefined)
    underWay.push({ post, sent })
    const oldest = underWay.length === UNDER_WAY_MAX ? underWay.shift() : undefined
    if (oldest !== undefined) await settle(oldest)
  }
  for (const rest of underWay) await settle(rest)
}

/** Of a post that a smaller one could replace. */
class TooManyRecords extends Error {
  override readonly name = 'TooManyRecords'
}

async function sendUntilTaken(target: Target, post: CsvPost): Promise<Answer> {
  for (let attempt = 1; ; attempt++) {
    const sent: Sent = await sendPost(target, { contentType: 'text/csv', body: post.text, isZipped: false })
    if (sent.kind === 'taken') return sent.answer
    if (sent.kind === 'refused') {
      const why = `refused, from line ${post.firstLine}: ${sent.why}`
      const isTooMany = sent.status === 413 && post.records > RECORDS_PER_SMALL_POST
      throw isTooMany ? new TooManyRecords(why) : new Error(why)
    }
    if (attempt === ATTEMPTS_MAX) throw new Error(`given up after ${attempt} attempts: ${sent.why}`)
    const waitMs = Math.min(WAIT_MAX_MS, sent.afterMs ?? 250 * 2 ** attempt)
    console.error(`waiting ${waitMs} ms: ${sent.why}`)
    await new Promise((done) => setTimeout(done, waitMs))
  }
}

function add(summary: Summary, answer: Answer): void {
  summary.posts += 1
  summary.records += answer.received
  summary.stored += answer.stored
  summary.repeated += answer.repeated
  summary.setAside += answer.setAsideTotal
}

/** The service counts records from 0; people look for lines. Exact where no field spans lines. */
function report(post: CsvPost, answer: Answer): void {
  for (const each of answer.setAside) {
    console.error(`line ${post.firstLine + each.index}: ${each.reason} ${each.detail ?? ''}`.trimEnd())
  }
  const more = answer.setAsideTotal - answer.setAside.length
  if (more > 0) console.error(`... and ${more} more set aside in this post`)
}

/** Only for the very file: one that has grown or was cut is read from the start, and repeats cost nothing. */
async function doneBefore(noteFile: string, fileBytes: number): Promise<number> {
  if (!existsSync(noteFile)) return 0
  const z = await import('zod')
  const noteSchema = z.object({ fileBytes: z.int(), doneBytes: z.int() })
  const note = noteSchema.safeParse(JSON.parse(readFileSync(noteFile, 'utf8')))
  return note.success && note.data.fileBytes === fileBytes ? note.data.doneBytes : 0
}

function writeNote(noteFile: string, note: Note): void {
  writeFileSync(`${noteFile}.new`, JSON.stringify(note))
  renameSync(`${noteFile}.new`, noteFile)
}

try {
  process.exitCode = await main()
} catch (error) {
  console.error(error instanceof Error ? error.message : String(error))
  process.exitCode = 2
}
