#if canImport(SwiftUI) && canImport(AVFoundation)
import StandsquareDevice
import StandsquareModel
import SwiftUI

/// The glass while codes are read: what came of the last one, what the camera sees, and the way
/// back in thumb reach. The camera is open for as long as this is there and the app in front.
struct CameraView: View {
    let glass: GlassState
    let state: CameraState
    let send: @MainActor (Tap) -> Void
    let close: @MainActor () -> Void
    @State private var camera = CodeCamera()
    @State private var light = false
    @Environment(\.palette) private var palette
    @Environment(\.scenePhase) private var phase

    var body: some View {
        VStack(alignment: .leading, spacing: 8) {
            if let mark = glass.mark {
                Text(mark).bold()
                    .padding(.horizontal, 10)
                    .foregroundStyle(Color(rgb: palette.demo.ink))
                    .background(Color(rgb: palette.demo.ground), in: .rect(cornerRadius: 6))
            }
            Text(glass.title).font(.title2).bold().accessibilityAddTraits(.isHeader)
            if let said = state.trouble(camera.sight) ?? glass.notice {
                Banner(notice: said)
            } else {
                Text(state.hint(camera.sight))
            }
            Seen(camera: camera, sight: camera.sight)
                .frame(maxWidth: .infinity, maxHeight: .infinity)
                .accessibilityLabel(state.alt)
            if camera.sight == .seeingWithLight {
                Button(light ? state.lightOff : state.lightOn) {
                    light.toggle()
                    camera.light(light)
                }
                .buttonStyle(
                    TouchStyle(pair: light ? palette.good : palette.page, height: Height.touch))
                .accessibilityAddTraits(light ? .isSelected : [])
                .accessibilityIdentifier("camera.light")
            }
            Button(state.close, action: close)
                .buttonStyle(TouchStyle(pair: palette.main, height: Height.main))
                .accessibilityIdentifier("camera.close")
        }
        .padding()
        // Each code goes in on the view that is there when it is seen.
        .onChange(of: state, initial: true) { _, now in
            camera.read = { [send] text in send(now.tap(text: text)) }
        }
        .task(id: phase) {
            if phase == .background {
                light = false
                camera.stop()
            } else if phase == .active {
                await camera.start()
            }
        }
        .onDisappear { camera.stop() }
    }
}

/// The camera's picture; drawn anew when it stands otherwise.
private struct Seen: UIViewRepresentable {
    let camera: CodeCamera
    let sight: Sight

    func makeUIView(context: Context) -> CameraPicture {
        let picture = CameraPicture(frame: .zero)
        picture.show(camera)
        return picture
    }

    func updateUIView(_ picture: CameraPicture, context: Context) {
        picture.show(camera)
    }

    func makeCoordinator() {}
}
#endif
