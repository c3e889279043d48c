/** The recipe: proposed from a real post, tried on it, and saved only after it was seen to work. */
import type { JSX } from 'preact'
import { useEffect, useState } from 'preact/hooks'
import { api } from '../../api.ts'
import { Field } from '../../parts/fields.tsx'
import { Entry } from '../../parts/page.tsx'
import { Trouble } from '../../parts/states.tsx'
import { useAction } from '../../parts/use-action.ts'
import { refresh } from '../../query.ts'
import type { Problem } from '../../request.ts'
import type { Post, Proposal, Recipe, Source } from '../../shapes.ts'
import { capital } from '../../when.ts'
import { ProposalReasons } from './proposal-reasons.tsx'
import { Tries, useTries } from './tries.tsx'

type Props = { source: Source; example: Post | null }

export function RecipeEntry({ source, example }: Props): JSX.Element {
  const [text, setText] = useState(source.recipe === null ? '' : JSON.stringify(source.recipe, null, 2))
  const [said, setSaid] = useState<string | null>(null)
  const [proposal, setProposal] = useState<Proposal | null>(null)
  const action = useAction()
  const tries = useTries(source, example, action)
  const propose = async (post: string): Promise<void> => {
    const answer = await action.send(api.proposeRecipe(source.id, post))
    if (!answer) return
    const { recipe, why } = answer.value
    setProposal(answer.value)
    setSaid(
      recipe === null
        ? `No recipe can be proposed for this post. ${why ?? ''}`
        : 'Proposed from that post. Look it over, try it, then save it.',
    )
    if (recipe !== null) setText(JSON.stringify(recipe, null, 2))
  }
  useEffect(() => {
    if (!example) return
    tries.clear()
    setProposal(null)
    void propose(example.id)
    document.querySelector('#recipe')?.scrollIntoView({ block: 'start' })
  }, [example])
  const parsed = parse(text)
  const refused = action.problem === null ? null : refusedAt(action.problem)
  const save = async (recipe: Recipe | null): Promise<void> => {
    if (!(await action.send(api.setRecipe(source.id, recipe)))) return
    setSaid('Saved. Posts set aside before can be replayed now.')
    await refresh(api.source(source.id).path)
  }
  return (
    <Entry
      heading="Recipe"
      aside={
        <p>{source.recipe === null ? 'none: native names are read' : `version ${source.recipeVersion}`}</p>
      }
    >
      <div id="recipe" class="fields">
        <p>
          A hub that cannot be told how to name things is read by a recipe: which value is where, in which
          unit, for which rig. Open a post above and choose “Make a recipe from it”.
        </p>
        {said && <p role="status">{said}</p>}
        {proposal && <ProposalReasons proposal={proposal} />}
        <Field
          label="Recipe, as JSON"
          wrong={text.trim() !== '' && parsed === null ? 'This is not JSON yet.' : refused}
        >
          {(ids) => (
            <textarea
              {...ids}
              class="code"
              spellcheck={false}
              value={text}
              onInput={(event) => setText(event.currentTarget.value)}
            />
          )}
        </Field>
        {action.problem && refused === null && <Trouble problem={action.problem} />}
        <Tries tries={tries} />
        <p class="acts">
          <button
            type="button"
            disabled={action.isBusy || !parsed || !tries.first}
            onClick={() => void (parsed && tries.run(parsed))}
          >
            Try it on the last posts
          </button>
          <button
            type="button"
            class="main"
            disabled={action.isBusy || !parsed}
            onClick={() => void (parsed && save(parsed))}
          >
            Save the recipe
          </button>
          {source.recipe !== null && (
            <button type="button" class="link" disabled={action.isBusy} onClick={() => void save(null)}>
              Go back to native names
            </button>
          )}
        </p>
        {!tries.first && <p class="soft small">To try a recipe, let the hub post once.</p>}
      </div>
    </Entry>
  )
}

/** The place is said in the recipe's own names, outermost first: they stand in the text above. */
function refusedAt(problem: Problem): string | null {
  if (problem.kind !== 'refused' || problem.errors.length === 0) return null
  const sentences = problem.errors.map(({ pointer, detail }) => {
    const names = (pointer ?? '').split('/').filter((name) => name !== '' && name !== 'recipe')
    const place = names.length === 0 ? '' : `In ${names.map((name) => `“${name}”`).join(', ')}: `
    return `${place}${place === '' ? capital(detail) : detail}${detail.endsWith('.') ? '' : '.'}`
  })
  return sentences.join(' ')
}

function parse(text: string): Recipe | null {
  try {
    const value: unknown = JSON.parse(text)
    if (typeof value !== 'object' || value === null || Array.isArray(value)) return null
    return { ...value }
  } catch {
    return null
  }
}
