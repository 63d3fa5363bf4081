package standsquare.preview.monkey

import standsquare.gateway.Tilt
import standsquare.view.Act
import standsquare.view.ReaderCarrier
import standsquare.view.ReaderLink
import standsquare.view.Screen
import standsquare.view.SeatWay
import standsquare.view.SignSeat

/** One random act: a touch on anything, a sensible next step, or something that the world does. */
internal class Deeds(private val monkey: Monkey, private val dice: Dice) {
    private val finger = monkey.hand
    private val view get() = monkey.now

    /** Does it and says what it was. */
    fun one(): String = when (dice.roll(100)) {
        in 0..29 -> anything()
        in 30..33 -> double()
        in 34..35 -> if (monkey.again()) "stale" else anything()
        in 36..38 -> late()
        in 39..40 -> scroll()
        in 41..49 -> world()
        in 50..51 -> if (monkey.press(dice.oneIn(2))) "key" else anything()
        else -> sensible()
    }

    /** A touch on anything that takes one, allowed or not. */
    private fun anything(): String {
        val line = if (dice.oneIn(5)) dice.pick(finger.lines()) else null
        if (line != null) return typed(line, dice.pick(TYPED)!!)
        val target = target() ?: return scroll()
        finger.tap(target.at)
        monkey.deliver()
        return "touched ${target.tag}"
    }

    /** What changes only the look is touched seldom. */
    private fun target(): Finger.Target? {
        val all = finger.targets()
        val weighty = all.filterNot { it.tag == "look" || it.tag == "more" || it.tag.startsWith("language:") }
        return dice.pick(if (dice.oneIn(10)) all else weighty)
    }

    private fun double(): String {
        val target = target() ?: return scroll()
        finger.twice(target.at)
        monkey.deliver()
        return "double ${target.tag}"
    }

    /** The world moves on and the glass has not been drawn yet: the finger comes down on what was there. */
    private fun late(): String {
        val target = target() ?: return scroll()
        monkey.happens(worlds())
        finger.tap(target.at)
        monkey.deliver()
        return "late ${target.tag}"
    }

    private fun scroll(): String {
        finger.scroll(dice.roll(700) - 350f, dice::roll)
        return "scrolled"
    }

    private fun typed(line: String, text: String): String {
        finger.type(line, text)
        monkey.deliver()
        return "typed $line"
    }

    private fun world(): String {
        if (dice.oneIn(4)) {
            monkey.around.lies = Tilt(dice.roll(5_000) - 2_500, dice.roll(5_000) - 2_500)
            return "world tilt"
        }
        if (dice.oneIn(12)) monkey.wait(HOUR)
        val act = worlds()
        monkey.happens(act)
        return "world ${act::class.simpleName}"
    }

    private fun chip(): String = if (dice.oneIn(3)) dice.pick(CHIPS)!! else inHand() ?: dice.pick(CHIPS)!!

    private fun inHand() = view.dog?.chip?.filter(Char::isDigit)

    private fun reader() = dice.pick(listOf("wand", "stick", "")) !!

    private fun worlds(): Act = when (dice.roll(10)) {
        0 -> Act.ReaderLink(dice.pick(ReaderLink.entries)!!, "Wand", reader())
        1 -> Act.ReaderLink(ReaderLink.CONNECTED, "Wand", view.reader.wanted?.reader ?: reader())
        2 -> Act.ReaderLink(ReaderLink.LOST, "", view.reader.wanted?.reader ?: reader())
        3 -> Act.ReaderSeen(reader(), dice.pick(listOf("", "Long wand"))!!, dice.pick(ReaderCarrier.entries)!!, -40 - dice.roll(60))
        4 -> Act.ReaderBattery(reader(), dice.roll(256).toUByte())
        5 -> Act.BookCode(chip())
        6 -> Act.ReaderBytes(dice.bytes(dice.roll(40)))
        7, 8 -> Act.ReaderBytes((chip() + "\r").toByteArray())
        else -> Act.Tick
    }

    /** What somebody at the table would do next, so that the day gets somewhere. */
    private fun sensible(): String = when (val screen = view.screen) {
        is Screen.Home -> if (screen.home.roster) offered() else {
            monkey.happens(Act.LoadRoster(monkey.rosterText()))
            "world LoadRoster"
        }
        is Screen.Surface -> {
            // Laid flat, then turned half round.
            monkey.around.lies = if (screen.surface.taken == 0u) Tilt(420, -130) else Tilt(180, -310)
            offered()
        }
        is Screen.Hoops -> screen.hoops.hoops.firstOrNull { it.good != true }?.let { tap("hoop-good:${it.id}") } ?: offered()
        is Screen.Measurers -> screen.measurers.people.firstOrNull { !it.seated && it.whyNot == null && it.id in PINS }
            ?.let { tap("seat:${it.id}") } ?: offered()
        is Screen.Pin -> keys("pin", PINS[screen.pin.person] ?: "4711")
        is Screen.Chip -> if (dice.oneIn(2)) offered() else if (!shown("chip_type") && !shown("chip-pad:1")) offered()
            else (if (shown("chip_type")) tap("chip_type") else "") + keys("chip-pad", inHand().orEmpty())
        is Screen.Stop -> dice.pick(screen.stop.reasons)?.let { tap("stop:${it.id}") } ?: offered()
        is Screen.Newcomer -> {
            typed("newcomer:name", "Sorrel")
            typed("newcomer:born", "20230517")
            tap("newcomer:done")
        }
        is Screen.Correct -> if (screen.correct.seats.isNotEmpty()) sign(screen.correct.seats)
            else if (dice.oneIn(3)) offered() else dice.pick(screen.correct.choices)?.let { tap("correct:${it.id}") } ?: offered()
        is Screen.Unlock -> if (dice.oneIn(6)) offered() else sign(screen.unlock.seats)
        is Screen.Sign -> if (dice.oneIn(15)) offered() else sign(screen.sign.seats)
        is Screen.Queue -> if (shown("find-pad:1")) tap("pad_close") else if (dice.oneIn(3) || screen.queue.waiting.none { it.call != null }) offered()
            else tap("dog:${dice.pick(screen.queue.waiting.filter { it.call != null })!!.id}")
        is Screen.Incident -> if (dice.oneIn(2)) tap("offer:leave_look")
            else dice.pick(screen.incident.happened)?.let { tap("incident:${it.id}") } ?: offered()
        is Screen.Objection -> if (dice.oneIn(2)) tap("offer:leave_look") else tap("objection:record")
        is Screen.Slip, is Screen.SlipCheck, is Screen.Past, is Screen.History, is Screen.Settings,
        is Screen.Codes ->
            if (dice.oneIn(3)) offered() else tap("offer:leave_look")
        else -> offered()
    }

    private fun shown(tag: String) = tag in finger.tags()

    private fun tap(tag: String): String {
        if (!finger.find(tag)) return anything()
        monkey.deliver()
        return "touched $tag"
    }

    /** One of the offers, mostly the first that is weighty. */
    private fun offered(): String {
        if (shown("pad_close")) return tap("pad_close")
        val allowed = view.offers.filter { it.allowed }
        val main = allowed.filter { it.role == standsquare.view.Role.MAIN || it.role == standsquare.view.Role.EQUAL }
        val offer = dice.pick(if (main.isNotEmpty() && !dice.oneIn(6)) main else allowed) ?: return anything()
        return tap("offer:${offer.id}")
    }

    /** Types on the keys of an open pad. */
    private fun keys(pad: String, digits: String): String {
        while (shown("$pad:back") && dice.oneIn(9)) finger.find("$pad:back")
        for (digit in digits) if (!shown("$pad:$digit") || !finger.find("$pad:$digit")) break
        if (shown("$pad:enter")) finger.find("$pad:enter")
        monkey.deliver()
        return "typed $pad"
    }

    private fun sign(seats: List<SignSeat>): String {
        val seat = dice.pick(seats.filter { !it.signed }) ?: return offered()
        if (shown("pad_close") && dice.oneIn(2)) return tap("pad_close")
        if (seat.triesLeft == 0u) monkey.wait(HOUR)
        if (seat.way == SeatWay.PAPER && dice.oneIn(2)) {
            if (!shown("paper:1")) tap("paper:${seat.person}")
            return keys("paper", "17")
        }
        if (seat.byOwner != null && dice.oneIn(2) && shown("owner:${seat.person}")) return tap("owner:${seat.person}")
        if (!shown("pin:1")) tap("sign:${seat.person}")
        val whose = finger.tags().firstOrNull { it.startsWith("pin-of:") }?.removePrefix("pin-of:") ?: return "touched sign"
        return keys("pin", if (dice.oneIn(12)) "1111" else PINS[whose] ?: "1111")
    }

    private companion object {
        const val HOUR = 3_600_000L

        /** Whoever reads this may know them: they open nothing but the demo's keys. */
        val PINS = mapOf("ottoline" to "4711", "bram" to "2580", "wren" to "3690")

        /** Those of the list, one that nobody expects, and one that is none. */
        val CHIPS = listOf("999000000112233", "999000000204518", "999000000337904", "999000000451260", "999000000598871",
            "999000000660342", "999000000918273", "12")

        val TYPED = listOf("", "Hollin Field", "20230517", "x", "0000", "Ünïcode ✓", " ".repeat(40))
    }
}
