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
import { cutCsv, type CsvPost } from './csv-posts.ts'
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
  const target = { origin: new URL(values.url).origin, key: values.key }
  const fileBytes = statSync(file).size
  const noteFile = `${file}.upload`
  const skipBytes = values.restart ? 0 : await doneBefore(noteFile, fileBytes)
  if (skipBytes > 0) console.error(`going on behind byte ${skipBytes} of ${fileBytes}`)
  const summary: Summary = { records: 0, stored: 0, repeated: 0, setAside: 0, posts: 0 }
  const settle = async ({ post, sent }: UnderWay): Promise<void> => {
    const answer = await sent
    add(summary, answer)
    report(post, answer)
    writeNote(noteFile, { fileBytes, doneBytes: post.endsAtByte })
    console.error(`${Math.floor((100 * post.endsAtByte) / fileBytes)} % ${summary.records} records`)
  }
  const underWay: UnderWay[] = []
  for await (const post of cutCsv(createReadStream(file, { encoding: 'utf8' }), { skipBytes })) {
    const sent = sendUntilTaken(target, post)
    // Heard of in its turn.
    sent.catch(() => undefined)
    underWay.push({ post, sent })
    const oldest = underWay.length === UNDER_WAY_MAX ? underWay.shift() : undefined
    if (oldest !== undefined) await settle(oldest)
  }
  for (const rest of underWay) await settle(rest)
  rmSync(noteFile, { force: true })
  console.log(JSON.stringify(summary))
  return summary.setAside === 0 ? 0 : 1
}

async function sendUntilTaken(target: Target, post: CsvPost): Promise<Answer> {
  for (let attempt = 1; ; attempt++) {
    const sent: Sent = await sendPost(target, { contentType: 'text/csv', body: post.text, isZipped: false })
    if (sent.kind === 'taken') return sent.answer
    if (sent.kind === 'refused') throw new Error(`refused, from line ${post.firstLine}: ${sent.why}`)
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
