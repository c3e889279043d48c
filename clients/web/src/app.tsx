/** Routes, and the question that comes before them: who is it? */
import type { JSX } from 'preact'
import { ErrorBoundary, lazy, LocationProvider, Route, Router, useLocation } from 'preact-iso'
import { Nobody } from './parts/nobody.tsx'
import { Shell } from './parts/shell.tsx'
import { Waiting } from './parts/states.tsx'
import { isSignedOut } from './query.ts'
import { Jobs } from './screens/jobs.tsx'
import { Rigs } from './screens/rigs.tsx'
import { Missing } from './screens/missing.tsx'
import { me, useMe } from './session.ts'

const RigScreen = lazy(async () => (await import('./screens/rig.tsx')).RigScreen)
const Join = lazy(async () => (await import('./screens/join.tsx')).Join)
const SignIn = lazy(async () => (await import('./screens/sign-in.tsx')).SignIn)
const Messages = lazy(async () => (await import('./screens/messages.tsx')).Messages)
const More = lazy(async () => (await import('./screens/more.tsx')).More)
const Logbook = lazy(async () => (await import('./screens/logbook.tsx')).Logbook)
const LogNew = lazy(async () => (await import('./screens/log-new.tsx')).LogNew)
const BeforeFlight = lazy(async () => (await import('./screens/before-flight.tsx')).BeforeFlight)
const Record = lazy(async () => (await import('./screens/record.tsx')).Record)
const RigSettings = lazy(async () => (await import('./screens/rig-settings.tsx')).RigSettings)
const GuideScreen = lazy(async () => (await import('./screens/guide.tsx')).GuideScreen)
const Hubs = lazy(async () => (await import('./screens/hubs.tsx')).Hubs)
const Hub = lazy(async () => (await import('./screens/hub.tsx')).Hub)
const Start = lazy(async () => (await import('./screens/start.tsx')).Start)
const Compare = lazy(async () => (await import('./screens/compare.tsx')).Compare)
const People = lazy(async () => (await import('./screens/people.tsx')).People)
const You = lazy(async () => (await import('./screens/me.tsx')).You)
const SizingScreen = lazy(async () => (await import('./screens/sizing.tsx')).SizingScreen)
const CautionsScreen = lazy(async () => (await import('./screens/cautions.tsx')).CautionsScreen)

/** After a change of screen the reader starts at the top, with the keyboard as with the eye. */
function onRouteChange(): void {
  globalThis.scrollTo(0, 0)
  document.querySelector<HTMLElement>('#main')?.focus({ preventScroll: true })
}

export function App(): JSX.Element {
  return (
    <LocationProvider>
      <ErrorBoundary>
        <Door />
      </ErrorBoundary>
    </LocationProvider>
  )
}

/** A link to join is followed before anybody is known; everything else asks who it is. */
function Door(): JSX.Element {
  return useLocation().path === '/join' ? <Join /> : <Inside />
}

function Inside(): JSX.Element {
  const read = useMe()
  if (isSignedOut.value) return <SignIn />
  if (!me.value && read.problem) {
    return (
      <Shell>
        <Nobody problem={read.problem} again={read.again} />
      </Shell>
    )
  }
  if (!me.value) {
    return (
      <main>
        <Waiting what="your rigs" />
      </main>
    )
  }
  return (
    <Shell>
      <Router onRouteChange={onRouteChange}>
        <Route path="/" component={Jobs} />
        <Route path="/rigs" component={Rigs} />
        <Route path="/rigs/:rig" component={RigScreen} />
        <Route path="/rigs/:rig/before-flight" component={BeforeFlight} />
        <Route path="/rigs/:rig/record" component={Record} />
        <Route path="/rigs/:rig/settings" component={RigSettings} />
        <Route path="/rigs/:rig/guide/:what" component={GuideScreen} />
        <Route path="/logbook" component={Logbook} />
        <Route path="/logbook/new" component={LogNew} />
        <Route path="/compare" component={Compare} />
        <Route path="/start" component={Start} />
        <Route path="/hub" component={Hubs} />
        <Route path="/hub/:source" component={Hub} />
        <Route path="/people" component={People} />
        <Route path="/me" component={You} />
        <Route path="/messages" component={Messages} />
        <Route path="/settings" component={Messages} />
        <Route path="/sizing" component={SizingScreen} />
        <Route path="/cautions" component={CautionsScreen} />
        <Route path="/more" component={More} />
        <Route default component={Missing} />
      </Router>
    </Shell>
  )
}
