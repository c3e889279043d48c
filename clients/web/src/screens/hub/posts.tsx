/** The last posts as they came in, followed while this page is open. */
import type { JSX } from 'preact'
import { useState } from 'preact/hooks'
import { api } from '../../api.ts'
import { Entry } from '../../parts/page.tsx'
import { Shown, Trouble } from '../../parts/states.tsx'
import { useAction } from '../../parts/use-action.ts'
import { refreshUnder } from '../../query.ts'
import type { Post, ReadingsAnswer, Source } from '../../shapes.ts'
import { moment, ms, plural } from '../../when.ts'
import { refreshPosts, usePosts } from './use-posts.ts'

type Props = { source: Source; onExample: (post: Post) => void }

export function Posts({ source, onExample }: Props): JSX.Element {
  const read = usePosts(source.id)
  return (
    <Entry heading="Posts" aside={<p>as they come in; secrets are blanked</p>}>
      <Shown read={read} what="the posts">
        {({ items }) =>
          items.length === 0 ? (
            <p class="waiting">Waiting for a post …</p>
          ) : (
            <ul class="plain posts" aria-live="polite">
              {items.map((post) => (
                <li key={post.id}>
                  <PostLine source={source} post={post} onExample={onExample} />
                </li>
              ))}
            </ul>
          )
        }
      </Shown>
      <p class="soft small">
        Up to 100 posts with something set aside are kept whole, 64 KiB each, for 30 days; good ones only
        while this page is open, and one an hour.
      </p>
    </Entry>
  )
}

function PostLine({ source, post, onExample }: Props & { post: Post }): JSX.Element {
  const action = useAction()
  const [said, setSaid] = useState<string | null>(null)
  const replay = async (): Promise<void> => {
    const answer = await action.send(api.replayPost(source.id, post.id))
    if (answer) setSaid(answerSentence(answer.value))
    await refreshPosts(source.id)
    await refreshUnder('/v1/rigs/')
  }
  const isReplayable = post.kind === 'set-aside' && !post.isCut && post.replayedAt === null
  return (
    <details>
      <summary>
        {moment(ms(post.at))} <b>{post.kind === 'good' ? 'read' : 'set aside'}</b>
        {post.replayedAt !== null && ', replayed'} <span class="soft">{post.contentType ?? 'no type'}</span>
      </summary>
      <pre>{post.body}</pre>
      {post.isBodyCut && !post.isCut && <p>The first 64 KiB are shown; all of it is kept.</p>}
      {post.isCut && <p>Only the start is kept: it cannot be replayed.</p>}
      <ResultText result={post.result} />
      {said && <p role="status">{said}</p>}
      {action.problem && <Trouble problem={action.problem} />}
      <p class="acts">
        <button type="button" onClick={() => onExample(post)}>
          Make a recipe from it
        </button>
        {isReplayable && (
          <button type="button" class="link" disabled={action.isBusy} onClick={() => void replay()}>
            Replay it
          </button>
        )}
      </p>
    </details>
  )
}

export function answerSentence(answer: ReadingsAnswer): string {
  const { received, stored, repeated, setAsideTotal } = answer
  return `${plural(received, 'record')}: ${stored} stored, ${repeated} known before, ${setAsideTotal} set aside.`
}

/** The server's words for what it set aside, whatever shape the post's result has. */
function ResultText({ result }: { result: unknown }): JSX.Element | null {
  const reasons = setAsideOf(result)
  if (reasons.length === 0) return null
  return (
    <ul>
      {reasons.map((text, index) => (
        <li key={`${index} ${text}`}>{text}</li>
      ))}
    </ul>
  )
}

const isObject = (value: unknown): value is Record<string, unknown> =>
  typeof value === 'object' && value !== null

function setAsideOf(result: unknown): string[] {
  if (!isObject(result)) return []
  const { setAside, reason, detail } = result
  if (Array.isArray(setAside)) return setAside.filter(isObject).map(setAsideText)
  return [reason, detail].filter((one) => typeof one === 'string')
}

function setAsideText({ index, pointer, reason, detail }: Record<string, unknown>): string {
  const words = [detail, reason].filter((text) => typeof text === 'string').find((text) => text !== '')
  const where = typeof pointer === 'string' && pointer !== '' ? ` at ${pointer}` : ''
  return `Record ${typeof index === 'number' ? index + 1 : '?'}${where}: ${words ?? 'set aside'}`
}
