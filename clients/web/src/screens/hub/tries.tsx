/** A recipe tried on the last posts: it has to read them all, not only the one that it was made from. */
import type { JSX } from 'preact'
import { useState } from 'preact/hooks'
import { api } from '../../api.ts'
import type { Action } from '../../parts/use-action.ts'
import { problemSentence, request } from '../../request.ts'
import type { Post, Recipe, Source, Tried } from '../../shapes.ts'
import { moment, ms } from '../../when.ts'
import { answerSentence } from './posts.tsx'
import { TriedTable } from './tried-table.tsx'
import { usePosts } from './use-posts.ts'

/** The chosen post is shown value by value; so many others of the last ones by their counts. */
const othersMax = 8

type OtherTry = { post: Post; says: string }

export type TriesState = {
  /** The post that is shown value by value: the chosen one, else the newest. */
  first: Post | null
  tried: Tried | null
  others: OtherTry[]
  run: (recipe: Recipe) => Promise<void>
  clear: () => void
}

export function useTries(source: Source, example: Post | null, action: Action): TriesState {
  const posts = usePosts(source.id).value?.items ?? []
  const [tried, setTried] = useState<Tried | null>(null)
  const [others, setOthers] = useState<OtherTry[]>([])
  const first = example ?? posts.find((one) => !one.isCut) ?? null
  const clear = (): void => {
    setTried(null)
    setOthers([])
  }
  const run = async (recipe: Recipe): Promise<void> => {
    clear()
    if (!first) return
    const answer = await action.send(api.tryRecipe(source.id, { recipe, post: first.id }))
    if (!answer) return
    setTried(answer.value)
    const rest = posts.filter((one) => one.id !== first.id && !one.isCut).slice(0, othersMax)
    setOthers(await Promise.all(rest.map((post) => tryOn(source, recipe, post))))
  }
  return { first, tried, others, run, clear }
}

/** A post that the recipe cannot read is an answer too. */
async function tryOn(source: Source, recipe: Recipe, post: Post): Promise<OtherTry> {
  const answer = await request(api.tryRecipe(source.id, { recipe, post: post.id }))
  return { post, says: answer.ok ? answerSentence(answer.value) : problemSentence(answer.problem) }
}

export function Tries({ tries }: { tries: TriesState }): JSX.Element {
  return (
    <>
      {tries.tried && <TriedTable tried={tries.tried} />}
      {tries.others.length > 0 && (
        <div class="notice">
          <p>On the other posts kept:</p>
          <ul class="plain">
            {tries.others.map(({ post, says }) => (
              <li key={post.id}>
                <span class="soft">{moment(ms(post.at))}</span> {says}
              </li>
            ))}
          </ul>
        </div>
      )}
    </>
  )
}
