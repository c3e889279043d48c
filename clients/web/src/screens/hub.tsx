/** One hub: how to point it here, what it sent, and how its posts are read. */
import type { JSX } from 'preact'
import { useLocation, useRoute } from 'preact-iso'
import { useState } from 'preact/hooks'
import { api } from '../api.ts'
import { Entry, Page } from '../parts/page.tsx'
import { ShownPage, Trouble } from '../parts/states.tsx'
import { useAction } from '../parts/use-action.ts'
import { refresh, useRead } from '../query.ts'
import type { Post, Source } from '../shapes.ts'
import { ago, ms } from '../when.ts'
import { KeysAndRequests } from './hub/keys.tsx'
import { Posts } from './hub/posts.tsx'
import { RecipeEntry } from './hub/recipe-entry.tsx'

export function Hub(): JSX.Element {
  const id = useRoute().params['source'] ?? ''
  const read = useRead(api.source(id), 20)
  return (
    <ShownPage read={read} title="Hub" what="the hub" back={{ to: '/hub', label: 'Hubs' }}>
      {(source) => <Body source={source} />}
    </ShownPage>
  )
}

function Body({ source }: { source: Source }): JSX.Element {
  const [example, setExample] = useState<Post | null>(null)
  return (
    <Page
      title={source.name}
      back={{ to: '/hub', label: 'Hubs' }}
      lead={`Sends for ${source.rigs.join(', ')}. ${
        source.heardAt
          ? `Last heard ${ago(ms(source.heardAt))}.`
          : 'Not heard yet: this page shows the first post as it comes in.'
      }`}
    >
      <KeysAndRequests source={source} />
      <Posts source={source} onExample={setExample} />
      <RecipeEntry key={source.recipeVersion} source={source} example={example} />
      <Remove source={source} />
    </Page>
  )
}

function Remove({ source }: { source: Source }): JSX.Element {
  const action = useAction()
  const { route } = useLocation()
  const remove = async (): Promise<void> => {
    if (!(await action.send(api.removeSource(source.id)))) return
    await refresh(api.sources(source.hangar).path)
    route('/hub')
  }
  return (
    <Entry heading="Remove this hub">
      <details>
        <summary>Remove …</summary>
        <p>Its keys stop working and its kept posts go; the readings stay.</p>
        {action.problem && <Trouble problem={action.problem} />}
        <p>
          <button type="button" disabled={action.isBusy} onClick={() => void remove()}>
            Remove it
          </button>
        </p>
      </details>
    </Entry>
  )
}
