// Runs the board's program against a made-up chip that does what standard input says, one line a
// measurement: raw temperature, raw humidity, and a letter: g good, t or h one CRC off, n no
// answer, s the answer is short. `heater` alone switches the chip's heater on, `stuck` for good.
// At the end it says how it went.
#include "Arduino.h"
#include "Wire.h"
#include "avr/wdt.h"
#include <cstdlib>
#include <cstring>
#include <new>
#include <string>
#include <vector>

static unsigned long now_ms = 4294960000UL;  // the counter turns over in the middle
static unsigned long fed_ms = 0, worst_ms = 0;
static bool watched = false, heater = true, stuck = false, in_loop = false;
static unsigned allocated = 0, measured_hot = 0, baud = 0;
static std::vector<std::string> script;
static size_t next_line = 0;

void *operator new(size_t size) {
  if (in_loop) { allocated++; }
  return std::malloc(size);
}
void operator delete(void *place) noexcept { std::free(place); }
void operator delete(void *place, size_t) noexcept { std::free(place); }

unsigned long millis() { return now_ms & 0xFFFFFFFFUL; }
void delay(unsigned long ms) { now_ms = (now_ms + ms) & 0xFFFFFFFFUL; fed_ms += ms; }
void wdt_enable(int) { watched = true; fed_ms = 0; }
void wdt_reset() {
  if (fed_ms > worst_ms) { worst_ms = fed_ms; }
  fed_ms = 0;
}

SerialPort Serial;
void SerialPort::begin(unsigned long rate) { baud = rate; }
void SerialPort::print(const char *text) { std::fputs(text, stdout); }

static uint8_t crc_of(uint8_t high, uint8_t low) {
  // By long division, bit by bit over the whole message: not the program's own way.
  uint32_t rest = ((uint32_t)(uint16_t)(((high << 8) | low) ^ 0xFF00)) << 8;
  for (int bit = 23; bit >= 8; bit--) {
    if (rest & (1UL << bit)) { rest ^= 0x131UL << (bit - 8); }
  }
  return (uint8_t)rest;
}

TwoWire Wire;
static uint8_t sent[4], answer[6];
static uint8_t sent_count = 0, answer_count = 0, answer_at = 0;
static bool here = false;

static void word(uint16_t value, bool spoilt) {
  answer[answer_count++] = (uint8_t)(value >> 8);
  answer[answer_count++] = (uint8_t)value;
  const uint8_t crc = crc_of((uint8_t)(value >> 8), (uint8_t)value);
  answer[answer_count++] = spoilt ? (uint8_t)(crc ^ 0x01) : crc;
}

static void measure() {
  while (next_line < script.size() && !std::strchr(script[next_line].c_str(), ' ')) {
    heater = true;
    stuck = stuck || script[next_line++] == "stuck";
  }
  if (next_line >= script.size()) { here = false; return; }
  unsigned air = 0, humidity = 0;
  char how = 'g';
  std::sscanf(script[next_line++].c_str(), "%u %u %c", &air, &humidity, &how);
  if (how == 'n') { here = false; return; }
  if (heater) { measured_hot++; }
  word((uint16_t)air, how == 't');
  word((uint16_t)humidity, how == 'h');
  if (how == 's') { answer_count = 4; }
}

void TwoWire::begin() {}
void TwoWire::beginTransmission(uint8_t address) { here = address == 0x44; sent_count = 0; }
void TwoWire::write(uint8_t byte) { if (sent_count < 4) { sent[sent_count++] = byte; } }
uint8_t TwoWire::endTransmission() {
  if (!here) { return 2; }
  answer_count = answer_at = 0;
  const uint16_t command = (uint16_t)((sent[0] << 8) | sent[1]);
  if (command == 0x3066 && !stuck) { heater = false; }
  if (command == 0xF32D) { word(heater ? 0x2010 : 0x0010, false); }
  if (command == 0x2400) { measure(); }
  return here ? 0 : 2;
}
uint8_t TwoWire::requestFrom(uint8_t, uint8_t count) {
  return answer_count < count ? answer_count : count;
}
int TwoWire::read() { return answer_at < answer_count ? answer[answer_at++] : -1; }

void setup();
void loop();

int main() {
  char text[64];
  while (std::fgets(text, sizeof text, stdin)) {
    std::string line(text);
    script.push_back(line.substr(0, line.find('\n')));
  }
  setup();
  in_loop = true;
  while (next_line < script.size()) { loop(); }
  in_loop = false;
  std::printf("# watched=%d worst_ms=%lu heater=%d hot=%u allocated=%u baud=%u\n", watched,
              worst_ms, heater, measured_hot, allocated, baud);
  return 0;
}
