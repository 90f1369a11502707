#include "ui/platform/window.h"

// GLFW brings the few functions of OpenGL 1.1 that are used here.
#include <GLFW/glfw3.h>
#include <backends/imgui_impl_glfw.h>
#include <backends/imgui_impl_opengl3.h>
#include <imgui.h>

#include <algorithm>
#include <array>
#include <cfloat>
#include <utility>

#include "src/errors.h"
#include "ui/look/text_field.h"

namespace howl::desk {
namespace {

constexpr unsigned kClampToEdge = 0x812F;  // GL_CLAMP_TO_EDGE of OpenGL 1.2

class GlTextures final : public Textures {
 public:
  ImTextureID make(int width, int height, std::span<const std::uint32_t> pixels) override {
    GLuint name{};
    glGenTextures(1, &name);
    glBindTexture(GL_TEXTURE_2D, name);
    glTexParameteri(GL_TEXTURE_2D, GL_TEXTURE_MIN_FILTER, GL_LINEAR);
    glTexParameteri(GL_TEXTURE_2D, GL_TEXTURE_MAG_FILTER, GL_LINEAR);
    glTexParameteri(GL_TEXTURE_2D, GL_TEXTURE_WRAP_S, kClampToEdge);
    glTexParameteri(GL_TEXTURE_2D, GL_TEXTURE_WRAP_T, kClampToEdge);
    glPixelStorei(GL_UNPACK_ALIGNMENT, 1);
    glTexImage2D(GL_TEXTURE_2D, 0, GL_RGBA, width, height, 0, GL_RGBA, GL_UNSIGNED_BYTE,
                 pixels.data());
    return reinterpret_cast<ImTextureID>(static_cast<std::uintptr_t>(name));
  }
  void drop(ImTextureID texture) override {
    const auto name = static_cast<GLuint>(reinterpret_cast<std::uintptr_t>(texture));
    glDeleteTextures(1, &name);
  }
};

struct NamedKey {
  int key;
  std::string_view name;
};
constexpr std::array<NamedKey, 22> kNamedKeys{{
    {GLFW_KEY_PAGE_DOWN, "PageDown"},
    {GLFW_KEY_PAGE_UP, "PageUp"},
    {GLFW_KEY_DOWN, "Down"},
    {GLFW_KEY_UP, "Up"},
    {GLFW_KEY_LEFT, "Left"},
    {GLFW_KEY_RIGHT, "Right"},
    {GLFW_KEY_ESCAPE, "Escape"},
    {GLFW_KEY_SPACE, "Space"},
    {GLFW_KEY_ENTER, "Enter"},
    {GLFW_KEY_F1, "F1"},
    {GLFW_KEY_F5, "F5"},
    {GLFW_KEY_F11, "F11"},
    {GLFW_KEY_EQUAL, "+"},
    {GLFW_KEY_KP_ADD, "+"},
    {GLFW_KEY_MINUS, "-"},
    {GLFW_KEY_KP_SUBTRACT, "-"},
    {GLFW_KEY_KP_ENTER, "Enter"},
    {GLFW_KEY_HOME, "Home"},
    {GLFW_KEY_END, "End"},
    {GLFW_KEY_DELETE, "Delete"},
    {GLFW_KEY_TAB, "Tab"},
    {GLFW_KEY_BACKSPACE, "Backspace"},
}};

std::string name_of(int key, int scancode) {
  for (const NamedKey& named : kNamedKeys)
    if (named.key == key) return std::string(named.name);
  if (key >= GLFW_KEY_0 && key <= GLFW_KEY_9) return {static_cast<char>('0' + key - GLFW_KEY_0)};
  // By what is printed on the key, whatever the keyboard's layout.
  const char* const printed = glfwGetKeyName(key, scancode);
  if (printed == nullptr || printed[0] == '\0' || printed[1] != '\0') return {};
  const char letter = printed[0];
  return {letter >= 'a' && letter <= 'z' ? static_cast<char>(letter - 'a' + 'A') : letter};
}

void set_mouse(const ScriptedMouse& mouse) {
  ImGuiIO& io = ImGui::GetIO();
  io.MousePos = mouse.at.x < -1e5F ? ImVec2(-FLT_MAX, -FLT_MAX) : mouse.at;
  io.MouseDown[0] = mouse.down;
  io.MouseWheel = mouse.wheel;
}

Error no_window(const std::string& why) {
  return {Fault::machine, "window", why,
          "start it in a desktop session with OpenGL 3.2; without one, the program howlpoint does "
          "the same work"};
}

std::string& glfw_complaint() {
  static std::string text;
  return text;
}

void note_complaint(int /*code*/, const char* text) { glfw_complaint() = text; }

}  // namespace

struct PlatformWindow::State {
  GLFWwindow* window{};
  GlTextures textures;
  WindowEvents events;
  std::array<int, 4> windowed{};  ///< place and size before the whole screen was taken
};

namespace {

void on_key(GLFWwindow* window, int key, int scancode, int action, int modifiers) {
  if (action == GLFW_RELEASE) return;
  std::string name = name_of(key, scancode);
  if (name.empty()) return;
  const bool control = (modifiers & GLFW_MOD_CONTROL) != 0;
  // Elsewhere Shift is part of what is printed: "+" takes it on many keyboards.
  if (control && name == "Z" && (modifiers & GLFW_MOD_SHIFT) != 0) name = "Shift+Z";
  const bool goes = name == "Tab" || (key >= GLFW_KEY_RIGHT && key <= GLFW_KEY_UP);
  if (goes && (modifiers & GLFW_MOD_SHIFT) != 0) name.insert(0, "Shift+");
  if (control) name.insert(0, "Ctrl+");
  if (ImGui::GetIO().WantTextInput && is_key_of_field(name)) return;
  static_cast<WindowEvents*>(glfwGetWindowUserPointer(window))->keys.push_back(std::move(name));
}

void on_drop(GLFWwindow* window, int count, const char** paths) {
  auto& events = *static_cast<WindowEvents*>(glfwGetWindowUserPointer(window));
  for (int i = 0; i < count; ++i) events.dropped.emplace_back(paths[i]);
}

GLFWwindow* open_window(const std::string& title, int width, int height) {
  glfwSetErrorCallback(note_complaint);
  if (glfwInit() == GLFW_FALSE) throw no_window("cannot be opened: " + glfw_complaint());
  glfwWindowHint(GLFW_CONTEXT_VERSION_MAJOR, 3);
  glfwWindowHint(GLFW_CONTEXT_VERSION_MINOR, 2);
  glfwWindowHint(GLFW_OPENGL_PROFILE, GLFW_OPENGL_CORE_PROFILE);
  glfwWindowHintString(GLFW_X11_CLASS_NAME, "howlpoint-desk");
  GLFWwindow* const window = glfwCreateWindow(width, height, title.c_str(), nullptr, nullptr);
  if (window == nullptr) {
    glfwTerminate();
    throw no_window("cannot be opened: " + glfw_complaint());
  }
  return window;
}

}  // namespace

PlatformWindow::PlatformWindow(const std::string& title, int width, int height)
    : state_(std::make_unique<State>()) {
  state_->window = open_window(title, width, height);
  glfwSetWindowUserPointer(state_->window, &state_->events);
  glfwSetKeyCallback(state_->window, on_key);
  glfwSetDropCallback(state_->window, on_drop);
  glfwSetWindowSizeLimits(state_->window, 960, 600, GLFW_DONT_CARE, GLFW_DONT_CARE);
  glfwMakeContextCurrent(state_->window);
  glfwSwapInterval(1);
  ImGui_ImplGlfw_InitForOpenGL(state_->window, true);
  ImGui_ImplOpenGL3_Init("#version 150");
}

PlatformWindow::~PlatformWindow() {
  ImGui_ImplOpenGL3_Shutdown();
  ImGui_ImplGlfw_Shutdown();
  glfwDestroyWindow(state_->window);
  glfwTerminate();
}

Textures& PlatformWindow::textures() { return state_->textures; }
bool PlatformWindow::wants_to_close() const {
  return glfwWindowShouldClose(state_->window) == GLFW_TRUE;
}
void PlatformWindow::close() { glfwSetWindowShouldClose(state_->window, GLFW_TRUE); }

WindowEvents PlatformWindow::events(double most_seconds) {
  if (most_seconds > 0) {
    const double begun = glfwGetTime();
    glfwWaitEventsTimeout(most_seconds);
    state_->events.any = glfwGetTime() - begun < most_seconds;
  } else {
    glfwPollEvents();
  }
  return std::exchange(state_->events, {});
}

void PlatformWindow::fonts_changed() {
  ImGui_ImplOpenGL3_DestroyFontsTexture();
  ImGui_ImplOpenGL3_CreateFontsTexture();
}

void PlatformWindow::begin_frame(const std::optional<ScriptedMouse>& mouse) {
  ImGui_ImplOpenGL3_NewFrame();
  ImGui_ImplGlfw_NewFrame();
  if (mouse) set_mouse(*mouse);
}

std::optional<WindowPixels> PlatformWindow::show(bool grab) {
  const auto [width, height] = size();
  glViewport(0, 0, width, height);
  glClearColor(0, 0, 0, 1);
  glClear(GL_COLOR_BUFFER_BIT);
  ImGui_ImplOpenGL3_RenderDrawData(ImGui::GetDrawData());
  std::optional<WindowPixels> grabbed;
  if (grab) {
    WindowPixels all{width, height,
                     std::vector<std::uint32_t>(static_cast<std::size_t>(width) *
                                                static_cast<std::size_t>(height))};
    glPixelStorei(GL_PACK_ALIGNMENT, 1);
    glReadPixels(0, 0, width, height, GL_RGBA, GL_UNSIGNED_BYTE, all.pixels.data());
    const auto row = static_cast<std::ptrdiff_t>(width);
    for (std::ptrdiff_t top = 0, end = height - 1; top < end; ++top, --end)
      std::swap_ranges(all.pixels.begin() + top * row, all.pixels.begin() + (top + 1) * row,
                       all.pixels.begin() + end * row);
    for (std::uint32_t& pixel : all.pixels)
      pixel = 0xFF000000U | (pixel & 0xFFU) << 16U | (pixel & 0xFF00U) | (pixel >> 16U & 0xFFU);
    grabbed = std::move(all);
  }
  glfwSwapBuffers(state_->window);
  return grabbed;
}

void PlatformWindow::set_size(int width, int height) {
  glfwSetWindowSize(state_->window, width, height);
}

std::pair<int, int> PlatformWindow::size() const {
  int width = 0;
  int height = 0;
  glfwGetFramebufferSize(state_->window, &width, &height);
  return {width, height};
}

double PlatformWindow::system_scale() const {
  float wished = 1;
  glfwGetWindowContentScale(state_->window, &wished, nullptr);
  int units = 0;
  glfwGetWindowSize(state_->window, &units, nullptr);
  const int pixels = size().first;
  const double enlarged = units > 0 && pixels > 0 ? static_cast<double>(pixels) / units : 1.0;
  return std::clamp(static_cast<double>(wished) / enlarged, 0.5, 4.0);
}

void PlatformWindow::toggle_whole_screen() {
  auto& [x, y, width, height] = state_->windowed;
  if (glfwGetWindowMonitor(state_->window) != nullptr)
    return glfwSetWindowMonitor(state_->window, nullptr, x, y, width, height, 0);
  GLFWmonitor* const monitor = glfwGetPrimaryMonitor();
  if (monitor == nullptr) return;
  glfwGetWindowPos(state_->window, &x, &y);
  glfwGetWindowSize(state_->window, &width, &height);
  const GLFWvidmode* const mode = glfwGetVideoMode(monitor);
  glfwSetWindowMonitor(state_->window, monitor, 0, 0, mode->width, mode->height, mode->refreshRate);
}

void PlatformWindow::wake() { glfwPostEmptyEvent(); }

}  // namespace howl::desk
