package standsquare.screens

import com.tngtech.archunit.core.domain.JavaClasses
import com.tngtech.archunit.core.importer.ClassFileImporter
import com.tngtech.archunit.core.importer.ImportOption.DoNotIncludeTests
import com.tngtech.archunit.lang.syntax.ArchRuleDefinition.noClasses
import org.junit.Assert.assertTrue
import org.junit.Test

/** Screens draw and send: they know the view's types and nothing that could decide, store or carry. */
class LayersTest {
    private val screens: JavaClasses = ClassFileImporter().withImportOption(DoNotIncludeTests()).importPackages("standsquare.screens")

    @Test
    fun screensKnowOnlyTheViewsTypes() {
        assertTrue("the screens were found", screens.size > 30)
        noClasses().that().resideInAPackage("standsquare.screens..").should().dependOnClassesThat()
            .resideInAnyPackage("standsquare.core..", "standsquare.gateway..", "standsquare.device..", "standsquare.preview..",
                "android..", "java.net..", "java.sql..", "java.nio.file..").check(screens)
    }

    @Test
    fun screensHaveNoClock() {
        noClasses().that().resideInAPackage("standsquare.screens..").should()
            .callMethod(System::class.java, "currentTimeMillis").orShould().callMethod(System::class.java, "nanoTime")
            .orShould().callMethod(java.time.LocalDate::class.java, "now").check(screens)
    }

    @Test
    fun onlyTheDesktopsPartUsesTheDesktop() {
        noClasses().that().resideInAPackage("standsquare.screens..").and().resideOutsideOfPackage("standsquare.screens.desktop..")
            .should().dependOnClassesThat().resideInAnyPackage("java.awt..", "javax.swing..", "org.jetbrains.skia..", "org.jetbrains.skiko..")
            .check(screens)
    }
}
