import { render } from 'preact'
import { App } from './app.tsx'
import { startWorker } from './notifications.ts'
import 'uplot/dist/uPlot.min.css'
import './style/fonts.css'
import './style/base.css'
import './style/page.css'
import './style/controls.css'
import './style/data.css'
import './style/print.css'

const root = document.querySelector('#app')
if (root) render(<App />, root)
startWorker()
