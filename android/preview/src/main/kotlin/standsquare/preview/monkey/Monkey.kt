@file:OptIn(ExperimentalTestApi::class, InternalTestApi::class)

package standsquare.preview.monkey

import androidx.compose.runtime.mutableStateOf
import androidx.compose.runtime.snapshots.Snapshot
import androidx.compose.ui.geometry.Size
import androidx.compose.ui.test.ExperimentalTestApi
import androidx.compose.ui.test.InternalTestApi
import androidx.compose.ui.test.SkikoComposeUiTest
import androidx.compose.ui.test.runSkikoComposeUiTest
import androidx.compose.ui.unit.Density
import java.io.File
import java.net.URI
import kotlin.concurrent.thread
import standsquare.gateway.Gateway
import standsquare.preview.Office
import standsquare.screens.desktop.packagedTypeface
import standsquare.screens.frame.Looks
import standsquare.screens.frame.PhoneGlass
import standsquare.screens.frame.nameOf
import standsquare.state.PhoneEvent
import standsquare.state.PhoneState
import standsquare.view.Act
import standsquare.view.TwoKeys
import standsquare.view.View

/** A small phone, 360 by 640 dp, half a pixel each: what is drawn does not matter here, where things lie does. */
private val GLASS = Size(180f, 320f)
private const val DENSITY = 0.5f

/** The random acts of one process. */
class Monkey(private val folder: File, office: URI, private val seed: Long, private val acts: Int, private val killOneIn: Int) {
    private val network = Office(office)
    private val world = World(seed, network)
    private val trail = Trail(folder)
    private val roster by lazy {
        network.network = true
        // Every other seed by rules under which each measurer makes their own placings.
        network.roster().let { if (seed % 2 == 0L) it.replace("work = \\\"together\\\"", "work = \\\"independently\\\"") else it }
    }

    // The phone's folder; a drop of the core goes on in a copy of it.
    private var record = folder.listFiles { it: File -> it.name.startsWith("record-") }.orEmpty().maxByOrNull { it.name.substringAfter('-').toInt() }
        ?: File(folder, "record-0").apply { mkdirs() }
    private lateinit var gateway: Gateway
    private val shown = mutableStateOf<PhoneState>(PhoneState.Opening)
    private val looks = mutableStateOf(Looks())
    private val events = ArrayDeque<PhoneEvent>()
    private lateinit var glass: SkikoComposeUiTest
    private lateinit var finger: Finger
    private lateinit var view: View
    private val counts = sortedMapOf<String, Int>()
    private var dogs = 0

    /** Goes on from the last answered act to the last one wanted. */
    fun run() = runSkikoComposeUiTest(GLASS, Density(DENSITY)) {
        glass = this
        finger = Finger(this)
        setContent { PhoneGlass(shown.value, looks.value, packagedTypeface, onEvent = events::addLast) }
        val last = trail.last
        last?.let { world.clock = it.clock }
        open()
        if (last != null) afterAKill(last)
        val first = (last?.act ?: 0) + if (last == null) 1 else 2
        for (act in first..acts) one(act)
        finish()
    }

    private fun open() {
        gateway = Gateway(record.path, world) { ByteArray(32) { 7 } }
        gateway.settled { }
        draw()
    }

    /** Draws what the gateway shows now, and holds the glass to it. */
    private fun draw() {
        val state = gateway.state.value
        val showing = state as? PhoneState.Showing ?: throw MonkeyFound("the record cannot be used: $state")
        view = showing.view
        glass.runOnUiThread {
            shown.value = state
            Snapshot.sendApplyNotifications()
        }
        glass.waitForIdle()
        val tags = finger.tags()
        for (tag in listOf("title:${view.title.key}", "screen:${nameOf(view.screen)}"))
            if (tag !in tags) throw MonkeyFound("the glass does not show $tag")
    }

    /** All that must be the same after a kill; and of it the files of the return. */
    private fun all(): Triple<String, String, String> = gateway.settled {
        val (json, csv) = it.sessionJson() to it.returnCsv()
        val now = it.view()
        Triple("${if (isLookedAt(now)) LOOKED else lasting(now)}\n$json\n$csv", json, csv)
    }

    private fun whole() = all().first

    /** The act under way at the kill is there whole or not at all; everything answered before it is there. */
    private fun afterAKill(last: Trail.Answered) {
        val (now, json, csv) = all()
        if (view.revision < last.revision) throw MonkeyFound("act ${last.act} was answered and is lost: event ${view.revision}, not ${last.revision}")
        // What was looked at beside the session is gone; what lies under it was not drawn then.
        val same = digest(now) == last.digest || digest("$LOOKED\n$json\n$csv") == last.digest
        if (view.revision == last.revision && !same)
            throw MonkeyFound("killed after act ${last.act}, the phone shows something else.\nbefore: ${trail.kept()}\nafter: $now")
        note(last.act + 1, if (view.revision == last.revision) "killed: the act under way is not there" else "killed: the act under way is there whole")
    }

    private fun count(what: String) = counts.merge(what, 1, Int::plus)

    private fun note(act: Int, what: String) {
        val (now, json, csv) = all()
        val answered = answeredFor(json)
        if (rowsAnsweredFor(csv) != answered) throw MonkeyFound("act $act: session.json has $answered dogs and return.csv another number")
        if (answered > dogs) count("a dog answered for by two")
        dogs = answered
        trail.answered(Trail.Answered(act, world.clock, view.revision, digest(now), what.replace('\n', ' ')))
    }

    private fun one(act: Int) {
        val dice = Dice.of(seed, act)
        world.act = act
        world.clock += 50L + dice.roll(2_500)
        network.network = !dice.oneIn(3)
        val on = "${nameOf(view.screen)}${view.dog?.let { ":" + it.id } ?: ""}"
        val before = view
        try {
            // As the phone does once a second: what depends on the time is shown as of now.
            happens(Act.Tick)
            if ((gateway.state.value as? PhoneState.Showing)?.view != view) draw()
            val fatal = killOneIn > 0 && act > 1 && dice.oneIn(killOneIn)
            if (fatal) {
                // What time alone has changed since the last act has to be there too.
                note(act - 1, "as of now")
                trail.keep(whole())
                // From nothing to more than an act takes, so that it falls before, in and after
                // the commit; a signature takes longest.
                fatalUs = dice.roll(if (dice.oneIn(4)) 200_000 else 30_000)
            }
            val what = if (dice.oneIn(40)) drop(dice) else Deeds(this, dice).one()
            if (fatal) {
                fire()
                Thread.sleep(30_000)
                throw MonkeyFound("the kill did not come")
            }
            draw()
            if (view.revision < before.revision) throw MonkeyFound("event ${before.revision} was shown and is gone: ${view.revision}")
            stepFromSigning(before, view)
            count(what.substringBefore(' '))
            note(act, "$on $what")
        } catch (fault: Throwable) {
            throw MonkeyFound("act $act on $on: ${fault.message ?: fault}").apply { initCause(fault) }
        }
    }

    private var fatalUs: Int? = null

    /** An act goes to the core now: if it is the last one of this process, the kill is on its way. */
    private fun fire() {
        fatalUs?.let(::killIn)
        fatalUs = null
    }

    /** This process ends, from outside and without warning, so many microseconds from now. */
    private fun killIn(us: Int) {
        thread(isDaemon = true) {
            val end = System.nanoTime() + us * 1_000L
            while (System.nanoTime() < end) Thread.onSpinWait()
            com.sun.jna.Function.getFunction("c", "kill").invokeInt(arrayOf(ProcessHandle.current().pid().toInt(), 9))
        }
    }

    /** The core is dropped and opened again: closed properly, or over a copy of its files as they lay there while it was open. */
    private fun drop(dice: Dice): String {
        val before = whole()
        val looked = isLookedAt(view)
        val copy = dice.oneIn(2)
        if (copy) {
            val half = File(folder, "half").apply { deleteRecursively(); mkdirs() }
            for (name in FILES) File(record, name).takeIf(File::exists)?.copyTo(File(half, name))
            gateway.close()
            // Whole or not at all: this process may be killed here.
            val to = File(folder, "record-${record.name.substringAfter('-').toInt() + 1}")
            check(half.renameTo(to)) { "$half cannot be renamed" }
            record.deleteRecursively()
            record = to
        } else gateway.close()
        open()
        val (shown, json, csv) = all()
        val after = if (looked) "$LOOKED\n$json\n$csv" else shown
        if (after != before) throw MonkeyFound("dropped, the phone shows something else.\nbefore: $before\nafter: $after")
        return if (copy) "dropped-over-a-copy" else "dropped"
    }

    /** Sends what the finger brought about; no act on a view that is gone may change anything. */
    internal fun deliver() {
        var moved = false
        while (events.isNotEmpty()) when (val event = events.removeFirst()) {
            is PhoneEvent.Do -> {
                val revision = gateway.settled { it.view() }.revision
                fire()
                gateway.send(event.act, event.seen)
                val now = gateway.settled { it.view() }.revision
                val stale = event.seen != revision
                if (stale && !ofTheWorld(event.act) && now != revision) throw MonkeyFound("$event changed what it was not made on")
                if (moved && stale) count("second touch refused")
                moved = moved || now != revision
                old = event
            }
            is PhoneEvent.TryAgain -> gateway.open()
            else -> looks.value = looks.value.after(event, dark = false)
        }
    }

    /** A code that is scanned is an act of the world although a finger can type it. */
    private fun ofTheWorld(act: Act) = act is Act.BookCode

    private var old: PhoneEvent.Do? = null

    /** An earlier touch comes again, long after its view has gone. */
    internal fun again(): Boolean {
        val event = old ?: return false
        if (event.seen == view.revision) return false
        events.addLast(event)
        deliver()
        return true
    }

    /** The world does this, whatever is shown. */
    internal fun happens(act: Act) {
        fire()
        gateway.send(act, view.revision)
        gateway.settled { }
    }

    /** A clicker's key, now and then twice. */
    internal fun press(up: Boolean): Boolean {
        val key = if (up) TwoKeys.FIRST else TwoKeys.SECOND
        fire()
        val taken = gateway.press(key)
        if (taken && up) {
            wait(700)
            gateway.press(key)
        }
        gateway.settled { }
        return taken
    }

    /** Time goes by. */
    internal fun wait(ms: Long) {
        world.clock += ms
        happens(Act.Tick)
    }

    internal val now get() = view
    internal val hand get() = finger
    internal val around get() = world
    internal fun rosterText() = roster

    private fun finish() {
        val (json, csv) = gateway.settled { it.sessionJson() to it.returnCsv() }
        File(folder, "session.json").writeText(json)
        File(folder, "return.csv").writeText(csv)
        val journal = File(folder, "journal.sqlite").apply { delete() }
        gateway.settled { it.exportJournal(journal.path) }
        gateway.close()
        println("seed $seed, acts to $acts in this process: $counts; the record holds ${view.revision} events")
    }

    private companion object {
        val FILES = listOf("journal.sqlite", "journal.sqlite-wal")
    }
}
