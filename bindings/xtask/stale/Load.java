/** Does what an app does first: has the generated Kotlin meet the library. Run from source. */
class Load {
    public static void main(String[] arguments) throws Exception {
        // What the app's gateway calls before anything else: the generator's own checks,
        // which it makes only when asked.
        standsquare.core.Standsquare_bindingsKt.uniffiEnsureInitialized();
        System.out.println("loaded");
    }
}
