import type { JSX } from 'preact'
import { engine, people, service, type Caution } from '../cautions.ts'
import { Entry, Page } from '../parts/page.tsx'

export function CautionsScreen(): JSX.Element {
  return (
    <Page
      title="Before you build, bake or start"
      tabTitle="Cautions"
      lead="Local codes, approved maintenance data and licensed people come before anything on this page."
      back={{ to: '/more', label: 'More' }}
    >
      <Group heading="People" cautions={people} />
      <Group heading="The engine" cautions={engine} />
      <Group heading="This service" cautions={[service]} />
    </Page>
  )
}

function Group({ heading, cautions }: { heading: string; cautions: Caution[] }): JSX.Element {
  return (
    <Entry heading={heading}>
      {cautions.map((one) => (
        <div key={one.about}>
          <h3>{one.about}</h3>
          <ul>
            {one.lines.map((line) => (
              <li key={line}>{line}</li>
            ))}
          </ul>
        </div>
      ))}
    </Entry>
  )
}
