package standsquare.screens

import com.tngtech.archunit.core.domain.JavaClasses
import com.tngtech.archunit.core.domain.JavaMethod
import com.tngtech.archunit.core.importer.ClassFileImporter
import com.tngtech.archunit.core.importer.ImportOption.DoNotIncludeTests
import com.tngtech.archunit.lang.syntax.ArchRuleDefinition.noClasses
import java.io.File
import org.junit.Assert.assertEquals
import org.junit.Assert.assertTrue
import org.junit.Test
import standsquare.core.Phone
import standsquare.view.Screen

/**
 * Each screen is four things: its state (the core's struct), its view (one composable
 * that takes it), its events (acts through a [standsquare.screens.frame.Hand], and no
 * other way), and its provider (the states that it can be looked at in, [Previews]).
 * Over all of them lies one gateway, which alone owns the core.
 */
class ArchitectureTest {
    private val ours: JavaClasses = ClassFileImporter().withImportOption(DoNotIncludeTests())
        .importPackages("standsquare.screens", "standsquare.gateway", "standsquare.state")

    /** Each screen's name with the class of its state. */
    private val states = Screen::class.java.declaredClasses.filter { Screen::class.java.isAssignableFrom(it) }
        .associate { it.simpleName to it.declaredFields.single { field -> field.type.simpleName.endsWith("Screen") }.type }

    private fun viewsOf(state: Class<*>): List<JavaMethod> = ours.filter { it.packageName == "standsquare.screens.steps" }
        .flatMap { it.methods }
        .filter { it.rawParameterTypes.firstOrNull()?.name == state.name && it.rawParameterTypes.any { p -> p.name == COMPOSER } }

    @Test
    fun eachScreenHasOneViewOfItsStateAndTheNameOfIt() {
        assertTrue("the screens were found", states.size > 20)
        for ((name, state) in states) {
            val named = viewsOf(state).filter { it.name == name }
            assertEquals("a composable $name that takes a ${state.simpleName}", 1, named.size)
        }
    }

    @Test
    fun aViewGetsItsStateAWayToSendActsAndNothingElse() {
        val may = setOf(COMPOSER, "int", "long", "standsquare.screens.frame.Hand", "standsquare.screens.frame.LocalChoice",
            // The choice of a language, which is the glass's own and no act.
            "kotlin.jvm.functions.Function1")
        for ((name, state) in states) for (view in viewsOf(state).filter { it.name == name })
            assertEquals("$name takes", emptyList<String>(), view.rawParameterTypes.drop(1).map { it.name }.filterNot { it in may })
    }

    @Test
    fun eachScreenHasAProviderOfItsStates() {
        val provided = Previews.states.groupBy { it.screen }.mapValues { it.value.size }
        for (name in states.keys) assertTrue("no recording shows the screen $name", (provided[name.lowercase()] ?: 0) > 0)
        println("states provided: ${provided.toSortedMap()}")
    }

    @Test
    fun onlyTheGatewayOpensTheCoreAndDoesActs() {
        noClasses().that().resideOutsideOfPackages("standsquare.gateway..").should().dependOnClassesThat().belongToAnyOf(Phone::class.java).check(ours)
        val gateway = ours.get("standsquare.gateway.Gateway")
        assertTrue("the gateway does", gateway.directDependenciesFromSelf.any { it.targetClass.name == Phone::class.java.name })
    }

    @Test
    fun whatLiesBetweenGatewayAndScreensIsPlainData() {
        noClasses().that().resideInAPackage("standsquare.state..").should().dependOnClassesThat()
            .resideOutsideOfPackages("standsquare.state..", "standsquare.view..", "kotlin..", "java.lang..", "org.jetbrains.annotations..").check(ours)
    }

    @Test
    fun theGatewayKnowsNoScreen() {
        noClasses().that().resideInAPackage("standsquare.gateway..").should().dependOnClassesThat()
            .resideInAnyPackage("standsquare.screens..", "androidx..").check(ours)
    }

    /** What Maven does not compile together is read: no device in the screens, no view, no core in the device. */
    @Test
    fun deviceAndAppKeepToTheirSide() {
        fun imports(folder: String) = File(root, "android/$folder/src/main").walk().filter { it.extension == "kt" }
            .flatMap { file -> file.readLines().filter { it.startsWith("import standsquare.") }.map { file.name to it.removePrefix("import standsquare.") } }.toList()
        val device = imports("device")
        assertTrue("device knows nothing of ours: $device", device.isEmpty())
        val app = imports("app")
        assertTrue("the app was found", app.size > 5)
        assertEquals(emptyList<Any>(), app.filter { (_, what) -> what.startsWith("core.") })
    }

    private companion object {
        const val COMPOSER = "androidx.compose.runtime.Composer"
    }
}
