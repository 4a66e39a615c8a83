// Says the air's temperature and humidity every ten seconds, as one NMEA 0183 XDR sentence:
//
//     $WIXDR,C,18.4,C,AIR,H,65.2,P,AIR*44
//
// For any hobby board with this kind of core and a digital temperature and humidity chip of the
// usual sort on its two-wire bus: 16-bit commands, address 0x44 (or 0x45), six bytes an answer,
// each pair of bytes with a CRC-8. Check those three against your chip's own sheet first.
//
// Wiring and placing: see board.md. 9600 baud, 8 data bits, no parity, 1 stop bit.
//
// Nothing is allocated while it runs, no floating point is printed, and every value that goes out
// is the middle one of three whose checksums fit. What can't be measured goes out as "nan", which
// the watch keeps as a fault; it never goes out as an old value.

#include <Arduino.h>
#include <Wire.h>
#if defined(__AVR__)
#include <avr/wdt.h>
#endif

static const uint8_t CHIP = 0x44;
static const uint32_t EVERY_MS = 10000;
static const uint32_t NAP_MS = 50;         // the watchdog is fed this often while it waits
static const uint8_t TRIES = 6;            // for three good measurements

// The chip's commands, from its kind's public sheet.
static const uint16_t MEASURE = 0x2400;    // once, highest repeatability, the bus left free
static const uint32_t MEASURE_MS = 20;     // it needs 15.5 at most
static const uint16_t READ_STATUS = 0xF32D;
static const uint16_t HEATER_OFF = 0x3066;
static const uint16_t HEATER_BIT = 1u << 13;

// CRC-8: polynomial 0x31, begun at 0xFF, nothing reflected, nothing turned over at the end.
static uint8_t crc8(const uint8_t *bytes, uint8_t count) {
  uint8_t crc = 0xFF;
  for (uint8_t i = 0; i < count; i++) {
    crc ^= bytes[i];
    for (uint8_t bit = 0; bit < 8; bit++) {
      crc = (crc & 0x80) ? (uint8_t)((crc << 1) ^ 0x31) : (uint8_t)(crc << 1);
    }
  }
  return crc;
}

// ------------------------------------------------------------------ the watchdog
// A board that hangs, on the bus or anywhere, starts anew by itself after eight seconds. On other
// cores put their own watchdog's calls here.

static void watchdogStart() {
#if defined(__AVR__)
  wdt_enable(WDTO_8S);
#endif
}

static void watchdogFeed() {
#if defined(__AVR__)
  wdt_reset();
#endif
}

// ------------------------------------------------------------------ the bus

static bool command(uint16_t what) {
  Wire.beginTransmission(CHIP);
  Wire.write((uint8_t)(what >> 8));
  Wire.write((uint8_t)(what & 0xFF));
  return Wire.endTransmission() == 0;
}

// Reads words of two bytes and a CRC each. False: not all came, or one CRC doesn't fit.
static bool readWords(uint16_t *words, uint8_t count) {
  const uint8_t wanted = (uint8_t)(3 * count);
  if (Wire.requestFrom(CHIP, wanted) != wanted) {
    return false;
  }
  for (uint8_t i = 0; i < count; i++) {
    uint8_t pair[2];
    pair[0] = (uint8_t)Wire.read();
    pair[1] = (uint8_t)Wire.read();
    if (crc8(pair, 2) != (uint8_t)Wire.read()) {
      return false;
    }
    words[i] = (uint16_t)((pair[0] << 8) | pair[1]);
  }
  return true;
}

// The chip has a small heater inside. A glitch on its supply or bus can leave it on, and then it
// reads warm and dry: the dangerous way. So it is looked at before every round. False: it is on,
// or nobody can say.
static bool heaterIsOff() {
  uint16_t status;
  for (uint8_t tries = 0; tries < 2; tries++) {
    if (command(READ_STATUS) && readWords(&status, 1)) {
      if ((status & HEATER_BIT) == 0) {
        return true;
      }
      command(HEATER_OFF);
    }
  }
  return command(READ_STATUS) && readWords(&status, 1) && (status & HEATER_BIT) == 0;
}

static bool measureOnce(uint16_t *raw) {
  if (!command(MEASURE)) {
    return false;
  }
  delay(MEASURE_MS);
  return readWords(raw, 2);
}

// ------------------------------------------------------------------ the figures

static uint16_t middle(uint16_t a, uint16_t b, uint16_t c) {
  if (a > b) { const uint16_t t = a; a = b; b = t; }
  if (b > c) { b = c; }
  return a > b ? a : b;
}

// Tenths of a degree Celsius: -45 + 175 raw / 65535, rounded to the nearest.
static int16_t tenthsC(uint16_t raw) {
  return (int16_t)((1750UL * raw + 32767UL) / 65535UL) - 450;
}

// Tenths of a percent: 100 raw / 65535, rounded to the nearest.
static int16_t tenthsPct(uint16_t raw) {
  return (int16_t)((1000UL * raw + 32767UL) / 65535UL);
}

// ------------------------------------------------------------------ the sentence

static char line[64];
static uint8_t length;

static void put(const char *text) {
  while (*text && length < sizeof line - 1) {
    line[length++] = *text++;
  }
  line[length] = '\0';
}

static void putTenths(int16_t tenths) {
  char digits[8];
  uint8_t at = sizeof digits - 1;
  uint16_t left = (uint16_t)(tenths < 0 ? -tenths : tenths);
  digits[at] = '\0';
  digits[--at] = (char)('0' + left % 10);
  digits[--at] = '.';
  left /= 10;
  do {
    digits[--at] = (char)('0' + left % 10);
    left /= 10;
  } while (left);
  if (tenths < 0) {
    digits[--at] = '-';
  }
  put(digits + at);
}

static void say(bool known, int16_t airTenthsC, int16_t humidityTenthsPct) {
  length = 0;
  put("$WIXDR,C,");
  if (known) { putTenths(airTenthsC); } else { put("nan"); }
  put(",C,AIR,H,");
  if (known) { putTenths(humidityTenthsPct); } else { put("nan"); }
  put(",P,AIR");
  uint8_t sum = 0;
  for (uint8_t i = 1; i < length; i++) {
    sum ^= (uint8_t)line[i];
  }
  static const char HEX_DIGITS[] = "0123456789ABCDEF";
  const char end[] = {'*', HEX_DIGITS[sum >> 4], HEX_DIGITS[sum & 15], '\r', '\n', '\0'};
  put(end);
  Serial.print(line);
}

// ------------------------------------------------------------------ round after round

static void measureAndSay() {
  uint16_t air[3], humidity[3], raw[2];
  uint8_t good = 0;
  const bool cool = heaterIsOff();
  for (uint8_t tries = 0; cool && good < 3 && tries < TRIES; tries++) {
    watchdogFeed();
    if (measureOnce(raw)) {
      air[good] = raw[0];
      humidity[good] = raw[1];
      good++;
    }
  }
  if (good < 3) {
    say(false, 0, 0);
    return;
  }
  say(true, tenthsC(middle(air[0], air[1], air[2])),
      tenthsPct(middle(humidity[0], humidity[1], humidity[2])));
}

static uint32_t saidAt;

void setup() {
  watchdogStart();
  Serial.begin(9600);
  Wire.begin();
#if defined(WIRE_HAS_TIMEOUT)
  Wire.setWireTimeout(25000, true);        // a bus that hangs is begun anew
#endif
  delay(NAP_MS);                           // the chip wakes up
  saidAt = millis() - EVERY_MS;            // the first sentence at once
}

void loop() {
  watchdogFeed();
  if (millis() - saidAt < EVERY_MS) {      // right over the day the counter turns over, too
    delay(NAP_MS);
    return;
  }
  saidAt += EVERY_MS;
  measureAndSay();
}
