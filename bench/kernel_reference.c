/* The right-hand side and the step of src/snugfast/physics/powertrain/kernel.py once more in C, for the benchmark only.

   Same rows (rows.h is written by the benchmark from the kernel's own numbers), same lanes of sixteen, same
   exponential and logarithm, same books kept per step. The driver's script is one phase that does not end,
   so that both do the same work. The benchmark compiles it twice: with -O3 -march=native, and with the flags
   besides that let this compiler run the long loop in lanes (no errno, no traps, no signed zeros, no infinities).
   -ffast-math would undo the rounding in exp_ and so compute something else. */

#include <math.h>
#include <stdint.h>
#include <string.h>
#include "rows.h"

#define INLINE static inline __attribute__((always_inline))
#define W(row) w[(row) * LANES + j]

INLINE int64_t as_bits(double x) { int64_t i; memcpy(&i, &x, 8); return i; }
INLINE double as_number(int64_t i) { double x; memcpy(&x, &i, 8); return x; }
INLINE double least(double a, double b) { return a < b ? a : b; }
INLINE double most(double a, double b) { return a > b ? a : b; }

INLINE double exp_(double x) {
    double shifted = x * 1.4426950408889634 + 6755399441055744.0;
    double whole = shifted - 6755399441055744.0;
    double r = (x - whole * 0.693147180369123816490) - whole * 1.90821492927058770002e-10;
    double c = 1.0 / 479001600.0 + r * (1.0 / 6227020800.0);
    c = 1.0 / 39916800.0 + r * c;
    c = 1.0 / 3628800.0 + r * c;
    c = 1.0 / 362880.0 + r * c;
    c = 1.0 / 40320.0 + r * c;
    c = 1.0 / 5040.0 + r * c;
    c = 1.0 / 720.0 + r * c;
    c = 1.0 / 120.0 + r * c;
    c = 1.0 / 24.0 + r * c;
    c = 1.0 / 6.0 + r * c;
    double fraction = 1.0 + (r + r * r * (0.5 + r * c));
    return fraction * as_number((int64_t)((uint64_t)(as_bits(shifted) + 1023) << 52));
}

INLINE double log_(double x) {
    int64_t bits = as_bits(x) + (0x3FF0000000000000LL - 0x3FE6A09E667F3BCDLL);
    double power = as_number((bits >> 52) | 0x4330000000000000LL) - (4503599627370496.0 + 1023.0);
    double m = as_number((bits & 0x000FFFFFFFFFFFFFLL) + 0x3FE6A09E667F3BCDLL);
    double f = m - 1.0, s = f / (2.0 + f), z = s * s, q = z * z;
    double odd = q * (3.999999999940941908e-01 + q * (2.222219843214978396e-01 + q * 1.531383769920937332e-01));
    double even = z * (6.666666666666735130e-01 + q * (2.857142874366239149e-01
                  + q * (1.818357216161805012e-01 + q * 1.479819860511658591e-01)));
    double half = 0.5 * f * f;
    return power * 6.93147180369123816490e-01
           - ((half - (s * (half + odd + even) + power * 1.90821492927058770002e-10)) - f);
}

INLINE double tanh_(double x) {
    double e = exp_(-2.0 * least(fabs(x), 20.0));
    double t = (1.0 - e) / (1.0 + e);
    return x >= 0.0 ? t : -t;
}

INLINE void look_up(double *restrict w, const double *restrict strips) {
    for (int j = 0; j < LANES; j++) {
        int i = (int)(least(most(W(CHARGE), 0.0), 1.0) * STRIPS);
        i = i < STRIPS - 1 ? i : STRIPS - 1;
        W(STRIP) = i;
        for (int n = 0; n < 6; n++) w[(STRIP_0 + n) * LANES + j] = strips[6 * i + n];
    }
#pragma GCC ivdep
    for (int j = 0; j < LANES; j++) {
        double warm = exp_(W(ACTIVATION) * (1.0 / (W(PACK_C) + ZERO_CELSIUS_K) - 1.0 / REFERENCE_K));
        W(WARM) = warm;
        W(SLOW_PER_OHM) = 1.0 / (W(SLOW_OHM) * warm);
        W(PER_PACK_OHM) = 1.0 / (W(PACK_OHM) * warm);
    }
}

INLINE void stage(double *restrict w, double reach, double weight) {
#pragma GCC ivdep
    for (int j = 0; j < LANES; j++) {
        double v = W(SPEED) + reach * W(FIRST_RATE), z = W(CHARGE) + reach * W(FIRST_RATE + 1);
        double slow = W(SLOW_V) + reach * W(FIRST_RATE + 2), tw = W(WINDING_C) + reach * W(FIRST_RATE + 3);
        double tc = W(CAN_C) + reach * W(FIRST_RATE + 4), te = W(BRIDGE_C) + reach * W(FIRST_RATE + 5);
        double tp = W(PACK_C) + reach * W(FIRST_RATE + 6);

        double level = tanh_(W(GROWTH) * v * v * W(GROWTH_INV));
        double radius = W(RADIUS) * (1.0 + W(GROWTH_BOUND) * level);
        double radius_slope = W(RADIUS) * 2.0 * W(GROWTH) * v * (1.0 - level * level);
        double per_radius = 1.0 / radius, per_arm = W(FINAL_DRIVE) * per_radius, arm = radius * W(DRIVE_INV);
        double omega = per_arm * v, turning = tanh_(v * (1.0 / STOP_SPEED_m_s));
        double load = W(WEIGHT) * W(GRADE_COS), grip = W(GRIP_WEIGHT) * W(GRADE_COS);

        double constant = W(CONSTANT) * (1.0 + W(MAGNET_K) * (tc + W(FOLLOWS) * (tw - tc) - 20.0));
        double winding = W(WINDING_OHM) * (1.0 + W(COPPER_K) * (tw - 20.0));
        double bridge = W(BRIDGE_OHM) * (1.0 + W(BRIDGE_K) * (te - 25.0));
        double loop = winding + bridge, per_loop = 1.0 / loop;
        double idle = W(HYSTERESIS) * turning + W(EDDY) * omega;
        double kelvin = tp + ZERO_CELSIUS_K;
        double pack = W(PACK_OHM) * W(WARM);
        double x = least(most(z, 0.0), 1.0) * STRIPS - W(STRIP);
        double rest = W(CELLS) * (W(STRIP_0) + x * (W(STRIP_1) + x * (W(STRIP_2) + x * W(STRIP_3))));
        double per_kelvin = W(CELLS) * (W(STRIP_4) + x * W(STRIP_5));
        double open_v = rest - slow, emf = constant * omega, per_constant = 1.0 / constant;

        double aimed = least(most((W(AIM) - v) * W(BAND_INV), -1.0), 1.0);
        double push = W(ACTION) == 0.0 ? 1.0 : (W(ACTION) == 1.0 ? -1.0 : aimed);
        double push_a = most((push * grip * arm * W(EFFICIENCY_INV) + idle) * per_constant, 0.0);
        double pull_a = most((-push * grip * arm * W(EFFICIENCY) - fabs(idle)) * per_constant, 0.0);
        int braking = (W(ACTION) == 1.0) | ((W(ACTION) == 2.0) & (pull_a > 0.0));

        double part = W(PART_V), supply = W(SUPPLY_A), against = emf + W(BRUSH);
        double free_v = open_v - pack * supply, slope = free_v + part;
        double most_a = least(W(MOTOR_MAX), push_a), need = part + against + most_a * loop;
        double inside = slope * slope - 4.0 * pack * most_a * need;
        double duty_i = 2.0 * need / (slope + sqrt(most(inside, 0.0)));
        duty_i = inside >= 0.0 ? duty_i : 1e9;
        double gives = (open_v - W(BROWN_OUT_V)) * W(PER_PACK_OHM);
        double most_from_pack = most(least(W(BATTERY_MAX), gives), supply);
        double a = open_v - pack * most_from_pack + part, b = part + against;
        double c = (most_from_pack - supply) * loop;
        double duty_b = (b + sqrt(most(b * b + 4.0 * a * c, 0.0))) / (2.0 * a);
        double duty = W(THROTTLE), rules = 0.0;
        double current_rules = W(MOTOR_MAX) <= push_a ? 1.0 : 2.0;
        rules = duty_i < duty ? current_rules : rules;
        duty = least(duty, duty_i);
        rules = duty_b < duty ? 3.0 : rules;
        duty = most(least(duty, duty_b), 0.0);
        double drive_a = (duty * free_v - (1.0 - duty) * part - against) / (loop + duty * duty * pack);
        rules = drive_a > 0.0 ? rules : 4.0;
        drive_a = most(drive_a, 0.0);
        /* Three factors instead of one condition: with that, this compiler would leave the loop one car at a time. */
        double at_grip = rules == 2.0 ? 1.0 : 0.0, drives_on = W(ACTION) == 0.0 ? 1.0 : 0.0;
        double pushes = push_a > 0.0 ? 1.0 : 0.0, spin = W(SPIN) * at_grip * drives_on * pushes;
        double left_duty = least(W(THROTTLE), (most_from_pack - supply) / most(drive_a, 1e-9)) - duty;
        duty = duty + spin * most(left_duty, 0.0);
        double spin_v = duty * free_v - (1.0 - duty) * part - against - drive_a * (loop + duty * duty * pack);
        spin_v = most(spin_v, 0.0) * (spin > 0.0);
        double freewheel = (1.0 - duty) * part * drive_a;

        double speed = fabs(v), size_emf = fabs(emf);
        double short_a = most(size_emf - W(BRUSH), 0.0) * per_loop;
        double fade_a = short_a * (W(HOLDS) > 0.0 ? HOLD_GAIN : 1.0);
        double command_a = W(BRAKE) * W(BRAKE_MAX);
        double brake_a = least(least(fade_a, command_a), pull_a);
        double brake_rules = fade_a <= command_a ? 6.0 : 5.0;
        brake_rules = brake_a < pull_a ? brake_rules : 7.0;
        double left = size_emf - W(BRUSH) - brake_a * loop;
        double to_pack = (left > 0.0 ? W(GIVEN_BACK) : 1.0) * left;
        double back = 2.0 * to_pack / (free_v + sqrt(most(free_v * free_v + 4.0 * pack * brake_a * to_pack, 0.0)));
        double burnt = (left - to_pack) * brake_a;

        double brake_side = emf >= 0.0 ? -brake_a : brake_a;
        double motor_a = braking ? brake_side : drive_a;
        double pack_a = supply + (braking ? -back * brake_a : duty * drive_a);
        rules = braking ? brake_rules : rules;
        freewheel = braking ? 0.0 : freewheel;
        burnt = braking ? burnt : 0.0;
        double pack_v = open_v - pack * pack_a, copper_share = winding * per_loop, square = motor_a * motor_a;
        double winding_w = square * winding + burnt * copper_share + W(BRUSH) * fabs(motor_a);
        double bridge_w = square * bridge + burnt * (1.0 - copper_share) + freewheel
                          + W(SUPPLY_HEAT) * pack_v * supply;

        double motor_omega = omega + spin_v * per_constant;
        idle = W(HYSTERESIS) * tanh_(motor_omega * arm * (1.0 / STOP_SPEED_m_s)) + W(EDDY) * motor_omega;
        double shaft = constant * motor_a - idle;
        double drives = (motor_a > 0.0) & (shaft >= 0.0) & (motor_omega >= 0.0) ? 1.0 : 0.0;
        double gears = drives * W(EFFICIENCY) + (1.0 - drives) * W(EFFICIENCY_INV);
        double force = shaft * per_arm * gears, wind = v + W(WIND);
        double held = load * (W(ROLLING) + W(ROLLING_V) * speed + W(SLIDE)) * turning;
        held += W(DRAG) * wind * fabs(wind) + W(WEIGHT) * W(GRADE_SIN);
        double moving = W(CAR_KG) + W(SPIN_KGM2) * (1.0 - v * radius_slope * per_radius) * per_radius * per_radius;

        double v2 = v * v, fan2 = W(FAN) * W(FAN);
        double can_air2 = W(CAN_RAM2) * v2 + fan2 * W(CAN_FAN2) + W(CAN_STILL2);
        double bridge_air2 = W(BRIDGE_RAM2) * v2 + fan2 * W(BRIDGE_FAN2) + W(BRIDGE_STILL2);
        double can_g = W(CAN_BASE) + W(CAN_FLOW) * exp_(W(CAN_HALF_EXP) * log_(can_air2));
        double bridge_g = W(BRIDGE_BASE) + W(BRIDGE_FLOW) * exp_(W(BRIDGE_HALF_EXP) * log_(bridge_air2));
        double iron = idle * motor_omega, between = (tw - tc) * W(BETWEEN_W_K), slow_per = slow * W(SLOW_PER_OHM);
        double pack_w = pack_a * pack_a * pack + slow * slow_per - pack_a * kelvin * per_kelvin;
        double air = W(AIR_C);

        double r0 = (force - held) / moving, r1 = -pack_a * W(CHARGE_INV), r2 = (pack_a - slow_per) * W(SLOW_F_INV);
        double r3 = (winding_w + W(IRON_SHARE) * iron - between) * W(WINDING_J_INV);
        double r4 = ((1.0 - W(IRON_SHARE)) * iron + between - can_g * (tc - air)) * W(CAN_J_INV);
        double r5 = (bridge_w - bridge_g * (te - air)) * W(BRIDGE_J_INV);
        double r6 = (pack_w - W(PACK_COOLING) * (tp - air)) * W(PACK_J_INV);
        W(FIRST_RATE) = r0; W(FIRST_RATE + 1) = r1; W(FIRST_RATE + 2) = r2; W(FIRST_RATE + 3) = r3;
        W(FIRST_RATE + 4) = r4; W(FIRST_RATE + 5) = r5; W(FIRST_RATE + 6) = r6;
        W(FIRST_SUM) += weight * r0; W(FIRST_SUM + 1) += weight * r1; W(FIRST_SUM + 2) += weight * r2;
        W(FIRST_SUM + 3) += weight * r3; W(FIRST_SUM + 4) += weight * r4; W(FIRST_SUM + 5) += weight * r5;
        W(FIRST_SUM + 6) += weight * r6; W(FIRST_SUM + 7) += weight * v;
        W(MOTOR_A) = motor_a; W(PACK_A) = pack_a; W(PACK_V) = pack_v; W(RULES) = rules;
    }
}

INLINE double first(double kept, double now, int crossed) { return least(kept, crossed ? now : INFINITY); }

INLINE void note(double *restrict w, double step) {
#pragma GCC ivdep
    for (int j = 0; j < LANES; j++) {
        double live = W(ALIVE), h = live * step, now = W(ELAPSED);
        W(TOP_SPEED) = most(W(TOP_SPEED), W(SPEED));
        W(TOP_WINDING) = most(W(TOP_WINDING), W(WINDING_C));
        W(TOP_CAN) = most(W(TOP_CAN), W(CAN_C));
        W(TOP_BRIDGE) = most(W(TOP_BRIDGE), W(BRIDGE_C));
        W(TOP_PACK) = most(W(TOP_PACK), W(PACK_C));
        W(TOP_MOTOR_A) = most(W(TOP_MOTOR_A), fabs(W(MOTOR_A)) * live);
        W(TOP_PACK_A) = most(W(TOP_PACK_A), W(PACK_A) * live);
        W(LOWEST_V) = least(W(LOWEST_V), W(PACK_V));
        W(MOTOR_A2S) += h * W(MOTOR_A) * W(MOTOR_A);
        W(PACK_A2S) += h * W(PACK_A) * W(PACK_A);
        double low_s = W(PACK_V) < W(CUTOFF_V) ? W(LOW_S) + h : 0.0;
        W(LOW_S) = low_s;
        W(AT_RESERVE) = first(W(AT_RESERVE), now, W(CHARGE) <= W(RESERVE));
        W(AT_CUTOFF) = first(W(AT_CUTOFF), now, low_s >= CUTOFF_DELAY_s);
        W(AT_WINDING) = first(W(AT_WINDING), now, W(WINDING_C) >= W(WINDING_MAX));
        W(AT_CAN) = first(W(AT_CAN), now, W(CAN_C) >= W(CAN_MAX));
        W(AT_BRIDGE) = first(W(AT_BRIDGE), now, W(BRIDGE_C) >= W(BRIDGE_MAX));
        W(AT_PACK) = first(W(AT_PACK), now, W(PACK_C) >= W(PACK_MAX));
        W(AT_GOAL) = first(W(AT_GOAL), now, W(SPEED) >= W(GOAL_SPEED));
        double mean = now >= W(MEAN_FROM) ? h : 0.0;
        W(MEAN_S) += mean;
        W(MEAN_WINDING) += mean * W(WINDING_C);
        W(MEAN_CAN) += mean * W(CAN_C);
        W(MEAN_BRIDGE) += mean * W(BRIDGE_C);
        W(MEAN_PACK) += mean * W(PACK_C);
        for (int n = 0; n < 8; n++) w[(BY_THROTTLE + n) * LANES + j] += W(RULES) == n ? h : 0.0;
    }
}

INLINE void move(double *restrict w, double step) {
#pragma GCC ivdep
    for (int j = 0; j < LANES; j++) {
        double live = W(ALIVE), gain = live * step / 6.0;
        W(PHASE_M) += gain * W(FIRST_SUM + 7);
        for (int n = 0; n < 8; n++) {
            w[(FIRST_STATE + n) * LANES + j] += gain * w[(FIRST_SUM + n) * LANES + j];
            w[(FIRST_SUM + n) * LANES + j] = 0.0;
        }
        W(ELAPSED) += live * step;
        W(PHASE_S) += live * step;
        double v = W(SPEED), ahead_m = most(v * v - W(EXIT_V2), 0.0) * W(BRAKE_AHEAD);
        int phase = (W(PHASE_S) >= W(PHASE_MAX_S) - 0.5 * step) | (W(PHASE_M) + ahead_m >= W(PHASE_MAX_M))
                    | (v >= W(UNTIL_ABOVE)) | (v <= W(UNTIL_BELOW));
        double charge_alarm = least(W(AT_RESERVE), W(AT_CUTOFF));
        double heat_alarm = least(least(W(AT_WINDING), W(AT_CAN)), least(W(AT_BRIDGE), W(AT_PACK)));
        int stops = ((charge_alarm < 1e300) & (W(STOP_ON_CHARGE) > 0.0))
                    | ((heat_alarm < 1e300) & (W(STOP_ON_HEAT) > 0.0));
        double ended = phase ? 1.0 : 0.0;
        ended = stops ? 2.0 : ended;
        ended = W(CHARGE) <= 0.0 ? 3.0 : ended;
        ended = W(WINDING_C) >= BURNT_C ? 4.0 : ended;
        W(ENDED) = ended * live;
    }
}

/* Sixteen cars through `steps` steps of one phase. Returns how often a lane said that something had ended. */
long advance(double *restrict w, const double *restrict strips, double step, long steps) {
    long ended = 0;
    for (long n = 0; n < steps; n++) {
        look_up(w, strips);
        for (int s = 0; s < 4; s++) {
            stage(w, s == 0 ? 0.0 : (s == 3 ? step : 0.5 * step), s == 1 || s == 2 ? 2.0 : 1.0);
            if (s == 0) note(w, step);
        }
        move(w, step);
        double some = 0.0;
        for (int j = 0; j < LANES; j++) some = most(some, W(ENDED));
        ended += some > 0.0;
    }
    return ended;
}
